"""Plots: written as SVG with their labels, and one sentence where there is none."""

import pytest

from assistant.calc.plot import DRAWINGS, draw
from assistant.errors import HosesideError

INPUTS = {
    "operating-point": ["pump_flow=8gpm", "pump_limit=3000psi", "bore=3/8in", "length=200ft",
                        "orifice=0.0759in"],
    "choose": ["line=4in", "length=80ft"],
    "noise-time": ["level=95dBA"],
    "noise-dose": ["exposures=95dBA:3h,85dBA:5h"],
}


@pytest.mark.parametrize("name", sorted(DRAWINGS))
def test_plot_is_written(name, tmp_path):
    """An SVG with a drawing in it."""
    file = tmp_path / "plot.svg"
    draw(name, INPUTS[name], file)
    text = file.read_text()
    assert text.count("<path") > 10 and "</svg>" in text


def test_no_plot_is_one_sentence(tmp_path):
    """It names those there are."""
    with pytest.raises(HosesideError, match="there is one for choose"):
        draw("npsh", [], tmp_path / "x.svg")


def test_a_plot_that_cannot_be_written_is_one_sentence(tmp_path):
    """It names the file."""
    with pytest.raises(HosesideError, match=r"nowhere/x\.svg: the plot cannot be written"):
        draw("noise-time", ["level=95dBA"], tmp_path / "nowhere" / "x.svg")
