"""The record: what it holds, that it stands alone, that everyone can read it."""

import json
import re
import shutil
import subprocess
from html.parser import HTMLParser

import jsonschema
import pytest
from icalendar import Calendar

from assistant.errors import HosesideError
from assistant.job import events as e
from assistant.job.plan import make_plan
from assistant.joblog.export import SCHEMA, calendar, json_lines, schema
from assistant.joblog.report import STYLE, record_html, record_pdf
from assistant.joblog.store import Entry, SqliteLog, reading, verify
from assistant.joblog.strip import strip_copy
from assistant.testing import FINISH, PRE_START, SET_UP, START, rehearse, shipped_profile

PLAN = make_plan(shipped_profile())
HELD = ("one one five", "one one five", "affirm", "acknowledged")
RUN = ("jet on", "hose out forty feet", "affirm", "hose in thirty one feet", "affirm",
       "jet off")


def entries_of(*parts):
    """A rehearsed job as log entries."""
    return [Entry(i, "2026-11-25T09:00:00.000+00:00", x)
            for i, x in enumerate(rehearse(*parts).events, 1)]


@pytest.fixture(scope="module")
def entries():
    """A whole job with a denied item, a skipped one, a held reading, a correction, a warning."""
    return entries_of(SET_UP, PRE_START[:2], ("negative",), PRE_START[2:11], ("skip this one",),
                      PRE_START[12:18], ("fifteen seconds", "correction thirty seconds", "affirm"),
                      PRE_START[20:], START[:7], HELD, START[7:], RUN, FINISH)


@pytest.fixture(scope="module")
def page(entries):
    """Its page."""
    return record_html(PLAN, entries)


@pytest.mark.parametrize("text", [
    "In words", "4 in (102 mm)", "deepest point 40 ft", "gal of water used".replace("gal ", ""),
    "Rubber boots?", "mended on the job", "left open (skipped)", "inlet pressure high, 115 psi",
    "acknowledged 0:", "within the limit 0:", "bucket time 15 s", "corrected",
    "Trailer unit two", "16000 psi", "plus or minus 20 %", "Operator, date", "Customer, date",
    "V/t", "sound level, last read", "NIOSH 98-126", "job finished"])
def test_the_record_holds_it(page, text):
    """Words, equipment, checks, warnings with what was done, corrections, figures, sign-off."""
    assert text in page


def test_memory_and_common_practice_are_marked(page):
    """Set off wherever they stand."""
    assert '<span class="tag">from memory</span>' in page
    assert '<span class="tag">common practice</span>' in page
    assert not re.search(r"(?<!>)\bfrom memory\b(?!</span>)", page.replace(
        "came from memory or", ""))


def test_the_page_stands_alone(page):
    """Nothing is fetched: no address to load, no script."""
    assert not re.search(r"(?:src|href)\s*=\s*[\"'](?!#)", page)
    assert "<script" not in page and "@import" not in page and "url(http" not in page


class Structure(HTMLParser):
    """Counts what a reader by ear needs."""

    def __init__(self):
        super().__init__()
        self.tags, self.ids, self.labels, self.images = [], [], [], []

    def handle_starttag(self, tag, attrs):
        found = dict(attrs)
        self.tags.append(tag)
        if "id" in found:
            self.ids.append(found["id"])
        if tag == "section":
            self.labels.append(found["aria-labelledby"])
        if found.get("role") == "img":
            self.images.append(found["aria-label"])


def test_landmarks_headings_and_alternatives(page):
    """Header, main, footer; every section named by its heading; every drawing has words; ids are
    unique; table heads have a scope."""
    s = Structure()
    s.feed(page)
    for tag in ("header", "main", "footer", "h1", "title"):
        assert s.tags.count(tag) == 1, tag
    assert 'lang="en"' in page
    assert set(s.labels) <= set(s.ids) and len(s.ids) == len(set(s.ids))
    assert len(s.images) == 2 and all(len(x) > 20 for x in s.images)
    assert page.count("<th") - page.count("<thead") == page.count('<th scope="col">')


def luminance(colour):
    """Relative luminance of #rgb or #rrggbb (WCAG 2.1)."""
    digits = colour.lstrip("#")
    digits = "".join(c * 2 for c in digits) if len(digits) == 3 else digits
    parts = [int(digits[i:i + 2], 16) / 255 for i in (0, 2, 4)]
    lin = [p / 12.92 if p <= 0.03928 else ((p + 0.055) / 1.055) ** 2.4 for p in parts]
    return 0.2126 * lin[0] + 0.7152 * lin[1] + 0.0722 * lin[2]


def test_text_has_contrast():
    """WCAG 2.1 AA: text 4.5 to 1 on white, lines 3 to 1."""
    for colour in re.findall(r"[^-]color:(#\w+)", STYLE):
        assert 1.05 / (luminance(colour) + 0.05) >= 4.5, colour
    for colour in re.findall(r"solid (#\w+)", STYLE):
        assert 1.05 / (luminance(colour) + 0.05) >= 3, colour


@pytest.mark.skipif(shutil.which("chromium") is None, reason="needs chromium")
def test_the_page_renders_without_a_network(page, tmp_path):
    """Headless Chromium lays it out with every host unreachable; nothing is wider than A4."""
    file = tmp_path / "record.html"
    file.write_text(page + "<script>document.title = document.documentElement.scrollWidth + ' ' "
                    "+ document.querySelectorAll('svg path').length</script>")
    run = subprocess.run(
        ["chromium", "--headless", "--no-sandbox", "--disable-gpu", "--window-size=794,1123",
         "--host-resolver-rules=MAP * ~NOTFOUND", "--dump-dom", f"file://{file}"],
        capture_output=True, text=True, timeout=120, env={"HOME": str(tmp_path), "PATH":
                                                         "/usr/bin:/bin"})
    title = re.search(r"<title>(\d+) (\d+)</title>", run.stdout)
    assert title, run.stderr[-500:]
    assert int(title[1]) <= 794 and int(title[2]) > 20


def test_pdf(page, tmp_path):
    """A PDF of some pages; a place that cannot be written is one sentence."""
    file = tmp_path / "record.pdf"
    record_pdf(page, file)
    assert file.read_bytes().startswith(b"%PDF-")
    with pytest.raises(HosesideError, match="the PDF cannot be written"):
        record_pdf("<p>x</p>", tmp_path / "nowhere" / "x.pdf")


def test_published_schema_is_that_of_the_events():
    """The shipped file is what the events give; run the line below to renew it."""
    # python -c "import json; from assistant.joblog.export import *;
    #            SCHEMA.write_text(json.dumps(schema(), indent=1, sort_keys=True) + '\n')"
    assert json.loads(SCHEMA.read_text()) == schema()


def test_every_line_keeps_the_schema(entries):
    """And a line with a wrong field does not."""
    validator = jsonschema.Draft202012Validator(json.loads(SCHEMA.read_text()))
    lines = [json.loads(x) for x in json_lines(entries).splitlines()]
    assert len(lines) == len(entries)
    for line in lines:
        validator.validate(line)
    lines[0]["fields"]["mood"] = "good"
    with pytest.raises(jsonschema.ValidationError):
        validator.validate(lines[0])


def test_calendar_has_what_is_not_mended(entries):
    """The skipped oil and the engine's oil by hours; what was mended is not in it."""
    found = Calendar.from_ical(calendar(PLAN, entries))
    todo = [str(x["summary"]) for x in found.walk("VTODO")]
    assert any("Pump oil, left open (skipped)" in x for x in todo)
    assert any("engine oil due every 50 h" in x for x in todo)
    assert not any("boots" in x for x in todo)


class TestStrip:
    """A copy that names nobody."""

    def test_names_places_times_and_sound_are_gone(self, tmp_path):
        """What was understood stays; the copy is whole by its own chain."""
        source, target = tmp_path / "a.job", tmp_path / "b.job"
        log = SqliteLog(source, create=True)
        job = rehearse(SET_UP[:2], ("Mister Oakfield wants to know when you are done",))
        log.append(e.JobStarted(0.0, "Oakfield, 12 Mill Lane", PLAN.profile_text, "x"))
        for event in job.events[1:]:
            log.append(event)
        log.keep_clip("x", b"sound")
        log.append(e.AudioKept(9.0, "line diameter", "x"))
        log.close()
        strip_copy(source, target)
        data = target.read_bytes()
        for word in (b"Oakfield", b"Mill Lane", b"Trailer unit two", b"2026", b"sound"):
            assert word not in data, word
        with reading(target) as copy:
            assert verify(copy).problem == ""
            kinds = [type(x.event).__name__ for x in copy.entries()]
            assert "ValueConfirmed" in kinds and "AudioKept" not in kinds

    def test_the_original_is_not_overwritten(self, tmp_path):
        """A copy onto an existing file is refused."""
        source = tmp_path / "a.job"
        log = SqliteLog(source, create=True)
        log.append(e.JobStarted(0.0, "x", PLAN.profile_text, "x"))
        log.close()
        with pytest.raises(HosesideError, match="exists already"):
            strip_copy(source, source)
