"""Equipment profiles: shipped ones load, broken ones say where, the manual outranks us."""

import pytest

from assistant.equipment import load_equipment
from assistant.errors import HosesideError
from assistant.limits import limit_named
from assistant.testing import shipped_profile
from assistant.units import quantity

TEXT = shipped_profile().read_text()


@pytest.mark.parametrize("name", ["engine-trailer", "electric-cart"])
def test_shipped_profile_loads(name):
    """Both examples are sound."""
    assert load_equipment(shipped_profile(name)).hoses


BROKEN = [
    ("flow: 8 gpm", "flow: 8 ft", "'flow' of the pump is '8 ft', not something measured in"),
    ("flow: 8 gpm", "flow: eight", "'flow' of the pump: 'eight' is not a quantity"),
    ("flow: 8 gpm", "flow: 0 gpm", "'flow' of the pump is 0"),
    ("power: engine  ", "power: steam  ", "'power' of the profile is 'steam'"),
    ("purpose: [penetrate]", "purpose: [drill]", "purpose of nozzle 'penetrating nozzle'"),
    ("hose: three eighths hose", "hose: garden hose", "not listed under hoses"),
    ("reel: fixed ", "reel: big ", "'reel' of the profile is 'big'"),
    ("bucket: 5 gal", "bucket: 5 gal\nwings: 2", "unknown key 'wings'"),
    ("engine:\n", "motor:\n", "the profile lacks 'engine'"),
]


@pytest.mark.parametrize(("old", "new", "message"), BROKEN)
def test_broken_profile_names_file_line_and_part(tmp_path, old, new, message):
    """One sentence with file, line, part and what is wrong."""
    path = tmp_path / "mine.yaml"
    assert old in TEXT
    path.write_text(TEXT.replace(old, new, 1))
    with pytest.raises(HosesideError) as error:
        load_equipment(path)
    assert str(error.value).startswith(f"{path}, line ")
    assert message in str(error.value)


def test_missing_profile_is_one_sentence():
    """No traceback for a wrong name."""
    with pytest.raises(HosesideError, match="no such file"):
        load_equipment(shipped_profile("nowhere"))


def test_the_manuals_figure_outranks_our_default(tmp_path):
    """A machine whose manual allows 60 psi is warned at 61, though our default is 100."""
    path = tmp_path / "mine.yaml"
    path.write_text(TEXT.replace("highest_pressure: 100 psi", "highest_pressure: 60 psi"))
    machine = load_equipment(path)
    limit = limit_named("inlet pressure high")
    assert limit.passed_by(quantity(61, "psi"), machine)
    assert not limit.passed_by(quantity(61, "psi"), load_equipment(shipped_profile()))
