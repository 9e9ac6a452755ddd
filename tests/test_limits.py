"""Every limit, just within and just past; the worst of several is the one that counts."""

import pytest

from assistant.equipment import load_equipment
from assistant.errors import HosesideError
from assistant.limits import FILE, limits, load_limits, passed
from assistant.testing import shipped_profile
from assistant.units import quantity, ureg

MACHINE = load_equipment(shipped_profile())


@pytest.mark.parametrize("limit", limits(), ids=lambda x: x.name)
def test_limit_on_both_sides(limit):
    """At the threshold it is kept, a hair past it is passed, a hair within it is not."""
    level = limit.level(MACHINE)
    temperature = str(level.units).startswith("degree_F")
    step = quantity(1, "delta_degF") if temperature else 0.01 * ureg.Quantity(1.0, level.units)
    past, within = (level + step, level - step) if limit.above else (level - step, level + step)
    assert limit.passed_by(past, MACHINE)
    assert not limit.passed_by(level, MACHINE)
    assert not limit.passed_by(within, MACHINE)


@pytest.mark.parametrize("limit", limits(), ids=lambda x: x.name)
def test_limit_says_what_and_what_to_do(limit):
    """Words to say, something to do, and where it comes from."""
    assert limit.say and limit.do and limit.source


def test_only_the_worst_on_one_side_is_raised():
    """250 ppm is a reason to leave, and not also one to ventilate."""
    assert [x.name for x in passed("carbon monoxide", quantity(250, "ppm"), MACHINE)] == [
        "carbon monoxide leave"]
    assert [x.name for x in passed("carbon monoxide", quantity(40, "ppm"), MACHINE)] == [
        "carbon monoxide ventilate"]
    assert [x.name for x in passed("sound level", quantity(118, "dBA"), MACHINE)] == [
        "sound too loud"]


def test_units_of_the_reading_do_not_matter():
    """8 bar is past 100 psi."""
    assert passed("inlet pressure", quantity(8, "bar"), MACHINE)


@pytest.mark.parametrize(("old", "new", "message"), [
    ("above: 115 dBA", "above: loud", "threshold of limit 'sound too loud'"),
    ("priority: medium", "priority: urgent", "must be high, medium, low"),
    ("    tag: P", "    tag: X", "must be one of"),
    ("profile: lowest_rating", "profile: nothing", "names 'nothing'"),
])
def test_broken_limits_name_file_line_and_limit(tmp_path, old, new, message):
    """One sentence."""
    path = tmp_path / "limits.yaml"
    path.write_text(FILE.read_text().replace(old, new, 1))
    with pytest.raises(HosesideError) as error:
        load_limits(path)
    assert str(error.value).startswith(f"{path}, line ") and message in str(error.value)
