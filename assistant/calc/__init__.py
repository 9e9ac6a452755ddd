"""Field calculations: pure functions of quantities with units, checked at the edge.

One module a subject. Each public function is a figure (see `figure.py`): pint quantities in and
out, plain SI numbers inside, ranges enforced, sources and uncertainty part of the result.
"""
