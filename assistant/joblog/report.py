"""The record of a job: one HTML page that needs nothing else, and the same as PDF."""

from __future__ import annotations

import html
import io
import re
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import Any

from assistant.calc.constants import TAGS
from assistant.errors import HosesideError
from assistant.job import events as e
from assistant.job.plan import Plan
from assistant.job.state import State, fold
from assistant.job.workings import formula
from assistant.joblog.store import Entry
from assistant.limits import limits
from assistant.units import convert, short

OTHER_UNIT = {"psi": "bar", "ft": "m", "in": "mm", "degF": "degC", "gal": "L", "gal/min": "L/min",
              "bar": "psi", "kPa": "psi", "m": "ft", "mm": "in", "degC": "degF", "L": "gal",
              "L/min": "gal/min", "lbf": "newton"}
"""The same value in the other system, for a reader who thinks in that."""

STYLE = """
@page{margin:15mm}
body{font:16px/1.45 system-ui,"DejaVu Sans",sans-serif;color:#111;background:#fff;max-width:60rem;
margin:2rem auto;padding:0 1rem}
h1{font-size:1.7rem;margin-bottom:.2rem}
h2{font-size:1.2rem;border-bottom:2px solid #111;margin-top:2rem;break-after:avoid}
h3{font-size:1rem;margin-bottom:0;break-after:avoid}article p,article ul{margin:.2rem 0}
table{border-collapse:collapse;width:100%}
th,td{text-align:left;vertical-align:top;padding:.3rem .6rem .3rem 0}
th,td{border-bottom:1px solid #767676}
th{font-weight:600}tr{break-inside:avoid}
.note{color:#444;font-size:.9rem}
.tag{font-size:.9rem;border:1px solid #444;padding:0 .3rem;white-space:nowrap}
figure{margin:1rem 0;break-inside:avoid}figure svg{width:100%;height:auto}
.sign{display:flex;gap:2rem;margin-top:3rem;break-inside:avoid}
.sign p{flex:1;border-top:1px solid #111;padding-top:.3rem}
@media print{body{margin:0;max-width:none;font-size:10.5pt;padding:0}}
"""


def clock(seconds: float) -> str:
    """Hours, minutes and seconds.

    >>> clock(3661)
    '1:01:01'
    """
    whole = int(seconds)
    return f"{whole // 3600}:{whole // 60 % 60:02d}:{whole % 60:02d}"


def both(value: float, unit: str) -> str:
    """A value in its unit and in the other system's.

    >>> both(100, "psi")
    '100 psi (6.89 bar)'
    """
    text = f"{round(value, 2):g} {unit}".strip()
    if unit in OTHER_UNIT:
        other = OTHER_UNIT[unit]
        text += f" ({convert(value, unit, other):.3g} {'N' if other == 'newton' else other})"
    return text


def _table(caption: str, head: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    body = "".join("<tr>" + "".join(f"<td>{_marked(c)}</td>" for c in row) + "</tr>"
                   for row in rows)
    if not body:
        return "<p>None.</p>"
    top = "".join(f'<th scope="col">{html.escape(c)}</th>' for c in head)
    return (f'<table aria-label="{html.escape(caption)}"><thead><tr>{top}</tr></thead>'
            f"<tbody>{body}</tbody></table>")


def _marked(text: str) -> str:
    """Escaped, with what came from memory or common practice set off."""
    safe = html.escape(text)
    return re.sub(r"\b(from memory|common practice)\b", r'<span class="tag">\1</span>', safe)


def checks(plan: Plan, entries: Sequence[Entry]) -> list[tuple[str, str, str, str]]:
    """Time, place, challenge and answer of every answered item."""
    rows: list[tuple[str, str, float]] = []
    for entry in entries:
        x = entry.event
        if isinstance(x, e.ItemConfirmed):
            rows.append((x.item, x.answer, x.at))
        elif isinstance(x, e.ItemDenied):
            rows.append((x.item, "answered no; to mend", x.at))
        elif isinstance(x, e.ItemHeld):
            rows.append((x.item, f"held: {x.limit}", x.at))
        elif isinstance(x, e.ItemNotFitted):
            rows.append((x.item, "not fitted", x.at))
        elif isinstance(x, e.ItemParked):
            rows.append((x.item, f"left open: {x.why}", x.at))
    shown = []
    for item_id, answer, at in rows:
        list_name, section, _ = item_id.split("/")
        place = f"{plan.lists[list_name].title}, {plan.section(list_name, section).title.lower()}"
        shown.append((clock(at), place, plan.item(item_id).challenge, answer))
    return shown


def warnings(entries: Sequence[Entry]) -> list[tuple[str, str, str, str, str]]:
    """Time, limit and value, what to do, what followed, and the source of every warning."""
    by_name = {x.name: x for x in limits()}
    rows = []
    for i, entry in enumerate(entries):
        x = entry.event
        if not isinstance(x, e.WarningRaised):
            continue
        later = [y.event for y in entries[i + 1:]]
        acknowledged = next((y.at for y in later if isinstance(y, e.WarningAcknowledged)
                             and y.limit == x.limit), None)
        cleared = next((y.at for y in later if isinstance(y, e.WarningCleared)
                        and y.limit == x.limit), None)
        after = []
        if acknowledged is not None:
            after.append(f"acknowledged {clock(acknowledged)}")
        if cleared is not None:
            after.append(f"within the limit {clock(cleared)}")
        limit = by_name.get(x.limit)
        source = limit.source if limit else ""
        if limit and TAGS[limit.tag] not in source:
            source += f" [{TAGS[limit.tag]}]"
        rows.append((clock(x.at), f"{x.limit}, {both(x.value, x.unit)}", x.do,
                     "; ".join(after) or "neither acknowledged nor cleared", source))
    return rows


def defects(plan: Plan, entries: Sequence[Entry]) -> list[tuple[str, str]]:
    """What was found wrong or left open, and whether it was mended on the job."""
    rows: list[tuple[str, str]] = []
    events = [x.event for x in entries]
    for i, x in enumerate(events):
        if isinstance(x, e.ItemDenied | e.ItemHeld):
            mended = any(isinstance(y, e.ItemConfirmed) and y.item == x.item
                         for y in events[i + 1:])
            rows.append((plan.item(x.item).challenge,
                         "mended on the job" if mended else "NOT mended"))
        elif isinstance(x, e.ItemParked):
            rows.append((plan.item(x.item).challenge, f"left open ({x.why})"))
    return rows


def _readings(entries: Sequence[Entry]) -> list[tuple[str, str, str]]:
    return [(clock(x.at), x.quantity, both(x.value, x.unit))
            for entry in entries if isinstance(x := entry.event, e.ValueConfirmed)]


def _corrections(entries: Sequence[Entry]) -> list[tuple[str, str, str]]:
    return [(clock(x.at), f"{x.quantity} {both(x.value, x.unit)}", x.why)
            for entry in entries if isinstance(x := entry.event, e.ValueDropped)]


def _figures(entries: Sequence[Entry]) -> str:
    """Each calculation with its inputs, formula, result, notes and sources."""
    blocks = []
    for entry in entries:
        x = entry.event
        if not isinstance(x, e.FigureWorkedOut):
            continue
        inputs = ", ".join(f"{k} {v}" for k, v in x.inputs.items())
        results = ", ".join(f"{k.replace('_', ' ')} {both(*v)}" for k, v in x.results.items())
        notes = "".join(f"<li>{_marked(n)}</li>" for n in x.notes)
        notes += "".join(f"<li>Source: {_marked(s)}</li>" for s in x.sources)
        blocks.append(
            f"<article><h3>{html.escape(x.figure.capitalize())}, {clock(x.at)}</h3>"
            f"<p>{html.escape(results or x.said)}</p>"
            f"<p>From {html.escape(inputs or 'nothing')}. {html.escape(formula(x.figure))}</p>"
            f'<ul class="note">{notes}</ul></article>')
    return "".join(blocks)


_COURSE: dict[type[e.Event], str] = {
    e.JetTurnedOn: "jet on", e.JetTurnedOff: "jet off", e.BendPassed: "past the first bend",
    e.OpeningReached: "at the opening", e.EmergencyCalled: "EMERGENCY called",
    e.EmergencyEnded: "emergency list closed", e.WentAhead: "went ahead",
    e.JobResumed: "job resumed", e.JettingBegan: "ready for the jet",
    e.JettingEnded: "jetting finished", e.JobFinished: "job finished",
    e.AudioKeepingBegan: "sound of logged values kept"}


def _course(entries: Sequence[Entry]) -> list[tuple[str, str]]:
    rows = []
    for entry in entries:
        x = entry.event
        if isinstance(x, e.HoseMoved):
            back = f", pulled back {x.pulled:g} ft" if x.pulled else ""
            rows.append((clock(x.at), f"hose out {x.out:g} ft{back}"))
        elif isinstance(x, e.FaultNoticed):
            rows.append((clock(x.at), f"fault: {x.what}"))
        elif isinstance(x, e.StoodBy):
            rows.append((clock(x.at), f"stood by ({x.why})"))
        elif type(x) in _COURSE:
            rows.append((clock(x.at), _COURSE[type(x)]))
    return rows


def water_used(state: State) -> float | None:
    """Gallons through the nozzle so far: worked-out flow times the time the jet was on; None where
    the flow is not known."""
    for figure in ("nozzle pressure", "choice"):
        flow = state.figures.get(figure, {}).get("flow")
        if flow is not None:
            return convert(flow[0], flow[1], "gal/min") * state.under_pressure / 60
    return None


def in_words(state: State) -> str:
    """The job in a few sentences."""
    parts = []
    logged = {k: both(v.value, v.unit) for k, v in state.logged.items()}
    if "line diameter" in logged:
        bends = state.logged.get("bends")
        turns = f", {bends.value:g} bends" if bends else ""
        parts.append(f"Line of {logged['line diameter']}, {logged.get('line length', '?')} "
                     f"long{turns}; stoppage: {state.facts.get('stoppage', 'unknown')}.")
    if state.jet_seconds > 0:
        parts.append(f"The jet was on for {clock(state.jet_seconds)}; deepest point "
                     f"{both(state.deepest, 'ft')}.")
        if (water := water_used(state)) is not None:
            parts.append(f"About {both(round(water), 'gal')} of water used (worked out).")
    if "drain" in state.facts:
        parts.append(f"Drain at the end: {state.facts['drain']}.")
    return " ".join(parts)


def _exposure(state: State) -> list[tuple[str, str]]:
    rows = []
    dose = state.figures.get("noise dose", {}).get("niosh")
    if dose is not None:
        rows.append(("Noise of this job, unprotected, share of a NIOSH day", f"{dose[0]:.1f} %"))
    for name in ("sound level", "carbon monoxide"):
        if name in state.logged:
            reading = state.logged[name]
            rows.append((f"{name}, last read", both(reading.value, reading.unit)))
    return rows


def _equipment(plan: Plan) -> list[tuple[str, str]]:
    m = plan.equipment
    rows = [("Unit", f"{m.name} ({m.power}, {m.carriage})"),
            ("Pump", f"{_q(m.pump.flow)}, {_q(m.pump.pressure)}, limit {_q(m.pump.relief)}")]
    rows += [(h.name, f"bore {_q(h.bore)}, {_q(h.length)}, working {_q(h.working)}, burst "
              f"{_q(h.burst)}") for h in m.hoses]
    rows += [(n.name, f"for {n.hose}, {n.rear} rear and {n.front} front jets of {_q(n.orifice)}")
             for n in m.nozzles]
    return rows


def _q(quantity: Any) -> str:
    return f"{round(float(quantity.magnitude), 4):g} {short(quantity.units)}"


def _svg(draw: Any, title: str, alt: str) -> str:
    import matplotlib

    matplotlib.use("svg")
    from matplotlib import pyplot

    chart, axes = pyplot.subplots(figsize=(8, 3.4), layout="constrained")
    draw(axes)
    axes.grid(alpha=0.4)
    out = io.StringIO()
    with matplotlib.rc_context({"svg.hashsalt": title, "svg.fonttype": "path"}):
        chart.savefig(out, format="svg", metadata={"Date": None})
    pyplot.close(chart)
    svg = out.getvalue()[out.getvalue().index("<svg"):]
    # Ids must differ between the drawings of one page.
    slug = re.sub(r"\W", "", title)
    svg = re.sub(r'id="', f'id="{slug}-', svg)
    svg = re.sub(r"url\(#", f"url(#{slug}-", svg)
    svg = re.sub(r'xlink:href="#', f'xlink:href="#{slug}-', svg)
    svg = re.sub(r"<metadata>.*?</metadata>", "", svg, flags=re.S)
    label = html.escape(alt)
    return (f'<figure><div role="img" aria-label="{label}">{svg}</div>'
            f"<figcaption>{html.escape(title)}. {label}</figcaption></figure>")


def _hose_plot(entries: Sequence[Entry], state: State) -> str:
    moves = [(x.at / 60, x.out) for entry in entries if isinstance(x := entry.event, e.HoseMoved)]
    if not moves:
        return ""
    line = state.logged.get("line length")

    def draw(axes: Any) -> None:
        axes.step([t for t, _ in moves], [out for _, out in moves], where="post", color="black",
                  marker="o", label="hose out")
        if line is not None:
            axes.axhline(convert(line.value, line.unit, "ft"), linestyle="--", color="#444",
                         label="end of the line")
        axes.set(xlabel="minutes from the start", ylabel="hose out [ft]", ylim=(0, None))
        axes.legend()

    calls = f"{len(moves)} calls, deepest {state.deepest:g} ft, last {moves[-1][1]:g} ft."
    return _svg(draw, "Hose position over time", calls)


def _pressure_plot(state: State) -> str:
    found = state.figures.get("nozzle pressure") or state.figures.get("choice", {})
    if "hose_loss" not in found or "nozzle_pressure" not in found:
        return ""
    at_nozzle, loss = found["nozzle_pressure"][0], found["hose_loss"][0]
    feet = state.figures.get("choice", {}).get("hose_length", (0.0, "ft"))[0]

    def draw(axes: Any) -> None:
        axes.plot([0, feet], [at_nozzle + loss, at_nozzle], color="black", marker="o")
        axes.fill_between([0, feet], [at_nozzle + loss, at_nozzle - 0.2 * loss],
                          [at_nozzle + loss, at_nozzle + 0.2 * loss], color="#bbb",
                          label="loss plus or minus 20 %")
        axes.set(xlabel="along the hose [ft]", ylabel="pressure [psi]",
                 ylim=(0, (at_nozzle + loss) * 1.1))
        axes.legend()

    return _svg(draw, "Pressure along the hose (worked out)",
                f"{at_nozzle + loss:.0f} psi at the pump, about {at_nozzle:.0f} psi at the nozzle.")


def record_html(plan: Plan, entries: Sequence[Entry]) -> str:
    """The record of a job as one HTML page."""
    state = fold(x.event for x in entries)
    title = state.title or "Job"
    when = entries[0].wall[:16].replace("T", " ") + " UTC"
    sections = [
        ("In words", f"<p>{html.escape(in_words(state))}</p>"),
        ("To mend", _table("To mend", ("Item", "State"), defects(plan, entries))),
        ("Warnings", _table("Warnings", ("Time", "Limit", "To do", "What followed", "Source"),
                            warnings(entries))),
        ("Hose and pressure", _hose_plot(entries, state) + _pressure_plot(state)
         or "<p>None.</p>"),
        ("Checks", _table("Checks", ("Time", "List", "Item", "Answer"), checks(plan, entries))),
        ("Readings", _table("Readings", ("Time", "Quantity", "Value"), _readings(entries))),
        ("Exposure", _table("Exposure", ("What", "Value"), _exposure(state))),
        ("Corrected or dropped before logging",
         _table("Corrected", ("Time", "Value", "Why"), _corrections(entries))),
        ("Worked out", _figures(entries) or "<p>None.</p>"),
        ("Equipment", _table("Equipment", ("What", "Data"), _equipment(plan))),
        ("Course of the job", _table("Course", ("Time", "What"), _course(entries))),
    ]
    body = "".join(
        f'<section aria-labelledby="s{i}"><h2 id="s{i}">{html.escape(head)}</h2>{content}</section>'
        for i, (head, content) in enumerate(sections))
    done = "finished" if state.over else "NOT finished"
    return (f'<!doctype html><html lang="en"><head><meta charset="utf-8">'
            f"<title>{html.escape(title)}</title>"
            f'<meta name="viewport" content="width=device-width"><style>{STYLE}</style></head>'
            f"<body><header><h1>{html.escape(title)}</h1><p>{html.escape(plan.equipment.name)}. "
            f"Begun {when}. Job {done}.</p></header><main>"
            '<p class="note">Made from what was said. Worked-out figures are estimates; the '
            "machine's manual, local codes and licensed practice decide. What is marked came from "
            "memory or common practice and has no published source. Times are hours, minutes and "
            f"seconds from the start.</p>{body}</main><footer><div class=\"sign\">"
            "<p>Operator, date</p><p>Customer, date</p><p>Checked by, date</p></div></footer>"
            "</body></html>\n")


def record_pdf(page: str, file: Path) -> None:
    """The same page as PDF."""
    try:
        import weasyprint
    except OSError as error:
        raise HosesideError(f"The library Pango, which sets the PDF, cannot be loaded ({error}); "
                            "install it (Debian: libpango-1.0-0 libpangoft2-1.0-0).") from None
    try:
        weasyprint.HTML(string=page).write_pdf(file)
    except OSError as error:
        raise HosesideError(f"{file}: the PDF cannot be written ({error.strerror}).") from None
