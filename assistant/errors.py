"""The one error a user may see: a sentence that names the file, the place and the mend."""


class HosesideError(Exception):
    """Bad input or a missing part, said in one clear sentence; never shown with a traceback."""
