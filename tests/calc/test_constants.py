"""Rules of thumb: one file, each tagged, none of them hidden in code."""

import re

import pytest

from assistant import paths
from assistant.calc.constants import FILE, TAGS, constant, rules
from assistant.calc.desk import all_figures
from assistant.errors import HosesideError
from assistant.units import unit
from tests.calc.test_figures import good_inputs

NAMES = list(rules()["constants"])


@pytest.mark.parametrize("name", NAMES)
def test_constant_has_unit_tag_and_source(name):
    """And its note says where it comes from."""
    found = constant(name)
    unit(found.unit)
    assert found.source and TAGS[found.tag] in found.note


@pytest.mark.parametrize("name", NAMES)
def test_constant_is_used(name):
    """No constant that nothing reads."""
    code = "".join(p.read_text() for p in (paths.ROOT / "assistant").rglob("*.py"))
    assert f'"{name}"' in code


def test_memory_and_common_practice_show_in_the_figure():
    """A figure that takes a default tagged M or C names it in its sources or notes."""
    wanted = {"pump-power": "pump efficiency", "motor-current": "motor efficiency",
              "reach": "hose friction", "operating-point": "jet discharge coefficient",
              "nozzle-flow": "jet discharge coefficient", "antifreeze": "water in pump",
              "bypass-heating": "water in the bypass loop"}
    for name, text in wanted.items():
        d = all_figures()[name]
        result = d.function(**good_inputs(d))
        shown = " ".join((*result.notes, *result.sources))
        assert text in shown and re.search("from memory|common practice", shown), name


def test_unknown_constant_names_the_file():
    """One sentence."""
    with pytest.raises(HosesideError, match=re.escape(str(FILE))):
        constant("luck")
