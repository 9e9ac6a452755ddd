"""Choosing hose and nozzle: agrees with the trade's table, says why, and where it differs."""

import pytest

from assistant.calc.choose import choose
from assistant.calc.constants import rules
from assistant.calc.figure import OutsideRange
from assistant.equipment import load_equipment
from assistant.testing import shipped_profile
from assistant.units import parse_quantity, quantity

ENGINE = load_equipment(shipped_profile("engine-trailer"))
CART = load_equipment(shipped_profile("electric-cart"))


def chosen(machine, line, length, bends=0, stoppage="unknown"):
    """Choose with plain numbers."""
    return choose(machine, quantity(line, "in"), quantity(length, "ft"), bends, stoppage)


# The common-practice table (no source): 3/8 in for 4 to 8 in lines, 1/4 in for 2 to 4 in,
# 1/8 in for 1.5 to 2 in lines.
TABLE = [(8, "3/8 in"), (6, "3/8 in"), (5, "3/8 in"), (3, "1/4 in"), (2.5, "1/4 in"),
         (1.5, "1/8 in")]


@pytest.mark.parametrize(("line", "bore"), TABLE)
def test_agrees_with_the_trades_table(line, bore):
    """Where one row of the table applies alone, that bore is chosen."""
    found = chosen(ENGINE, line, 40)
    assert found.hose.bore.to("inch").magnitude == pytest.approx(
        parse_quantity(bore).magnitude)


@pytest.mark.parametrize(("line", "wider"), [(4, "3/8 in"), (2, "1/4 in")])
def test_where_two_rows_meet_the_wider_hose_is_chosen(line, wider):
    """At 4 in and 2 in the table allows two bores. The wider loses less and pulls more, so it is
    taken; the table itself does not say."""
    found = chosen(ENGINE, line, 40)
    assert found.hose.bore.to("inch").magnitude == pytest.approx(parse_quantity(wider).magnitude)


def test_differs_from_the_table_where_the_machine_cannot():
    """The table says 3/8 in for a 6 in line. The electric cart has none and its 1/4 in hose is
    for lines up to 4 in: nothing is chosen rather than something that does not suit."""
    found = chosen(CART, 6, 40)
    assert found.hose is None
    assert any("2 to 4 inches" in r.why for r in found.ruled_out)


def test_too_short_a_hose_is_ruled_out_by_name():
    """And the narrower one is taken only if it suits the line."""
    found = chosen(ENGINE, 4, 180)
    assert found.hose.name == "three eighths hose"
    assert any(r.name == "quarter inch hose" and "do not reach" in r.why for r in found.ruled_out)


@pytest.mark.parametrize(("stoppage", "first", "then"), [
    ("grease", "penetrating nozzle", "flushing nozzle"),
    ("ice", "penetrating nozzle", "flushing nozzle"),
    ("unknown", "penetrating nozzle", "flushing nozzle"),
    ("sand", "flushing nozzle", "flushing nozzle"),
    ("roots", "penetrating nozzle", "rotating nozzle"),
    ("scale", "rotating nozzle", "flushing nozzle")])
def test_nozzle_by_what_blocks_the_line(stoppage, first, then):
    """Common practice, no source: penetrate grease and ice first, then flush; scour scale."""
    found = chosen(ENGINE, 6, 100, 1, stoppage)
    assert (found.first.name, found.then.name) == (first, then)


def test_pressure_left_at_the_nozzle_can_rule_a_hose_out(tmp_path):
    """A long narrow hose on a weak pump leaves under 500 psi."""
    text = shipped_profile("electric-cart").read_text().replace(
        "bore: 1/8 in, length: 50 ft", "bore: 1/8 in, length: 78 ft").replace(
        "pressure: 1500 psi", "pressure: 700 psi").replace("relief: 1500 psi", "relief: 700 psi")
    path = tmp_path / "weak.yaml"
    path.write_text(text)
    found = chosen(load_equipment(path), 1.5, 60)
    assert any("would reach the nozzle" in r.why for r in found.ruled_out)


def test_a_stiff_hose_is_ruled_out_by_its_bend_radius(tmp_path):
    """An elbow that it cannot follow."""
    path = tmp_path / "stiff.yaml"
    text = shipped_profile().read_text().replace("bend_radius: 3 in", "bend_radius: 30 in")
    path.write_text(text)
    found = chosen(load_equipment(path), 3, 40, 1)
    assert any(r.name == "quarter inch hose" and "bends to 30 inches" in r.why
               for r in found.ruled_out)
    assert chosen(load_equipment(path), 3, 40, 0).hose is not None


def test_a_rating_below_the_pump_is_ruled_out(tmp_path):
    """The lowest rating in the chain rules."""
    path = tmp_path / "weak.yaml"
    path.write_text(shipped_profile().read_text().replace("working: 4000 psi", "working: 2500 psi"))
    found = chosen(load_equipment(path), 4, 40)
    assert found.hose is None
    assert all("working pressure" in r.why or "inches" in r.why for r in found.ruled_out)


def test_a_pull_that_ends_early_is_said():
    """Where every suitable hose's pull ends before the line, the best is named with a caution."""
    found = chosen(CART, 3, 80, 4)
    assert found.hose is not None and "help the hose by hand" in found.notes[0]


def test_what_is_rule_of_thumb_says_so():
    """Tags in the data, and notes in the result."""
    assert rules()["hose_by_line"]["tag"] == "C"
    assert rules()["elbow_radius_ratio"]["tag"] == "M"
    notes = " ".join(chosen(ENGINE, 4, 80).notes)
    assert "common practice, no source" in notes and "from memory" in notes


@pytest.mark.parametrize(("line", "length", "bends", "stoppage"), [
    (0.5, 40, 0, "grease"), (4, 0, 0, "grease"), (4, 40, 99, "grease"), (4, 40, 0, "custard")])
def test_outside_its_range_it_says_which(line, length, bends, stoppage):
    """Never a hose for nonsense."""
    with pytest.raises(OutsideRange):
        chosen(ENGINE, line, length, bends, stoppage)
