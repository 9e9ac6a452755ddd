"""The command: job, hear, figure, report, models. Every error a user can make is one sentence."""

from __future__ import annotations

import argparse
import json
import os
import sys
import tempfile
from collections.abc import Sequence
from datetime import datetime
from pathlib import Path
from typing import Any

from assistant import __version__, paths
from assistant.errors import HosesideError

EXPECTS = ("answer", "number", "reading")


def main(argv: Sequence[str] | None = None) -> int:
    """Run a command line; returns the exit status."""
    arguments = _parser().parse_args(argv)
    try:
        return int(arguments.run(arguments) or 0)
    except HosesideError as error:
        print(f"hoseside: {error}", file=sys.stderr)
        return 1
    except BrokenPipeError:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 0
    except KeyboardInterrupt:
        print("\nStopped. What was logged is kept; go on with --resume.", file=sys.stderr)
        return 130
    except OSError as error:
        print(f"hoseside: {error.filename or 'the system'}: {error.strerror or error}; "
              "free space or check the file, then try again.", file=sys.stderr)
        return 1


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="hoseside", description="Offline, hands-free field assistant for drain-line jetting. "
        "It advises; the machine's manual and local rules decide.")
    parser.add_argument("--version", action="version", version=f"hoseside {__version__}")
    verbs = parser.add_subparsers(dest="verb", required=True, metavar="VERB")
    _add_job(verbs)
    _add_hear(verbs)
    _add_figure(verbs)
    _add_report(verbs)
    models = verbs.add_parser("models", help="what recogniser weights are here; --fetch them")
    models.add_argument("--fetch", action="store_true", help="bring the default weights")
    models.set_defaults(run=_models)
    return parser


def _add_engine(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--engine", default="whisper", metavar="ENGINE",
                        help="whisper (default) or vosk")
    parser.add_argument("--model", type=Path, metavar="FOLDER", help="another model folder")


def _add_job(verbs: Any) -> None:
    job = verbs.add_parser("job", help="work through a job, from set-up to record")
    job.add_argument("file", nargs="?", type=Path, metavar="JOB",
                     help="the job file (default: a new one in ~/hoseside-jobs)")
    job.add_argument("--title", default="New job")
    job.add_argument("--profile", default="engine-trailer", metavar="NAME|FILE",
                     help="equipment: a name in checklists/equipment or a YAML file")
    job.add_argument("--listen", default="microphone", metavar="microphone|keyboard|FILE",
                     help="where words come from; FILE is a sound file or a recorded job (.yaml)")
    job.add_argument("--device", metavar="NAME", help="which microphone")
    job.add_argument("--mute", nargs="?", const="", metavar="FILE.wav",
                     help="play nothing; with a file, write the speech there")
    job.add_argument("--resume", action="store_true", help="go on with an unfinished job")
    job.add_argument("--keep-audio", action="store_true",
                     help="keep the sound of each logged value (it is said aloud)")
    job.add_argument("--screen", action="store_true",
                     help="one terminal screen for a glance instead of lines")
    job.add_argument("--page", nargs="?", const="", metavar="HOST:PORT",
                     help="a live page for a glance, on loopback unless a host is named")
    _add_engine(job)
    job.set_defaults(run=_job)


def _add_hear(verbs: Any) -> None:
    hear = verbs.add_parser("hear", help="what sound files are heard as, one line each")
    hear.add_argument("--expect", choices=EXPECTS, default="reading")
    hear.add_argument("--quantity", metavar="NAME", help="the quantity that was asked for")
    hear.add_argument("--json", action="store_true", help="a JSON object a line")
    hear.add_argument("files", nargs="+", type=Path, metavar="FILE")
    _add_engine(hear)
    hear.set_defaults(run=_hear)


def _add_figure(verbs: Any) -> None:
    figure = verbs.add_parser("figure", help="work out one figure; --list says which")
    figure.add_argument("name", nargs="?", metavar="NAME")
    figure.add_argument("inputs", nargs="*", metavar="key=value")
    figure.add_argument("--json", action="store_true")
    figure.add_argument("--list", action="store_true")
    figure.add_argument("--plot", type=Path, metavar="FILE.svg",
                        help="draw it too, where looking beats reading")
    figure.set_defaults(run=_figure)


def _add_report(verbs: Any) -> None:
    report = verbs.add_parser("report", help="write the record of a job, check its log, or "
                              "summarise many jobs")
    report.add_argument("file", type=Path, metavar="JOB", help="a job file (a folder with --all)")
    report.add_argument("--out", type=Path, metavar="FOLDER", help="default: beside the job")
    report.add_argument("--pdf", action="store_true", help="the record as PDF too")
    report.add_argument("--verify", action="store_true",
                        help="only say whether the log is whole and unaltered")
    report.add_argument("--strip", type=Path, metavar="COPY.job",
                        help="only write a copy without names, places, times of day and sound")
    report.add_argument("--all", action="store_true", help="summarise all jobs under a folder")
    report.set_defaults(run=_report)


# --- job -----------------------------------------------------------------------------------------


def _job(arguments: argparse.Namespace) -> int:
    from assistant.run import run_job

    return run_job(
        file=arguments.file or _new_file(), title=arguments.title,
        profile=paths.profile_path(arguments.profile), listen=arguments.listen,
        engine=arguments.engine, model=arguments.model, device=arguments.device,
        mute=arguments.mute, resume=arguments.resume, keep_audio=arguments.keep_audio,
        page=arguments.page, glance=arguments.screen)


def _new_file() -> Path:
    folder = Path.home() / "hoseside-jobs"
    folder.mkdir(exist_ok=True)
    return folder / f"{datetime.now():%Y-%m-%d-%H%M%S}.job"


# --- hear ----------------------------------------------------------------------------------------


def _hear(arguments: argparse.Namespace) -> int:
    from assistant.hearing.listen import hear_file, may_say_for
    from assistant.models import make_recogniser

    may = may_say_for(arguments.expect, arguments.quantity)
    recogniser = make_recogniser(arguments.engine, arguments.model)
    failed = 0
    for file in arguments.files:
        try:
            found = hear_file(file, recogniser, may, arguments.expect)
        except HosesideError as error:
            print(f"hoseside: {error}", file=sys.stderr)
            failed = 1
            continue
        if arguments.json:
            print(json.dumps(found), flush=True)
        else:
            value = "" if found["value"] is None else f" {found['value']:g} {found['unit'] or ''}"
            print(f"{file}: \"{found['heard']}\" -> {found['meaning']} "
                  f"{found['quantity'] or ''}{value}".rstrip(), flush=True)
    return failed


# --- figure --------------------------------------------------------------------------------------


def _figure(arguments: argparse.Namespace) -> int:
    from assistant.calc.desk import described, listing, work

    if arguments.list or arguments.name is None:
        print(listing(arguments.json))
        return 0
    result = work(arguments.name, arguments.inputs)
    if arguments.plot is not None:
        from assistant.calc.plot import draw

        draw(arguments.name, arguments.inputs, arguments.plot)
    print(json.dumps(result) if arguments.json else described(result))
    return 0


# --- report --------------------------------------------------------------------------------------


def _report(arguments: argparse.Namespace) -> int:
    if arguments.all:
        return _report_all(arguments)
    if arguments.verify:
        return _verify(arguments.file)
    if arguments.strip is not None:
        from assistant.joblog.strip import strip_copy

        count = strip_copy(arguments.file, arguments.strip)
        print(f"Stripped copy: {arguments.strip} ({count} events)")
        return 0
    from assistant.joblog.export import calendar, json_lines, record_csv
    from assistant.joblog.report import record_html, record_pdf
    from assistant.joblog.store import reading

    with reading(arguments.file) as log:
        entries = list(log.entries())
        clips = log.clips()
    plan = plan_of(arguments.file, entries)
    out = arguments.out or arguments.file.parent
    out.mkdir(parents=True, exist_ok=True)
    stem = out / arguments.file.stem
    page = record_html(plan, entries)
    written = {".html": page, ".csv": record_csv(entries), ".jsonl": json_lines(entries)}
    for suffix, text in written.items():
        stem.with_name(stem.name + suffix).write_text(text, encoding="utf-8")
    stem.with_name(stem.name + ".ics").write_bytes(calendar(plan, entries))
    for digest, flac in clips.items():
        stem.with_name(f"{stem.name}-{digest[:12]}.flac").write_bytes(flac)
    suffixes = [*written, ".ics"]
    if arguments.pdf:
        record_pdf(page, stem.with_name(stem.name + ".pdf"))
        suffixes.append(".pdf")
    for suffix in suffixes:
        print(f"Record: {stem.with_name(stem.name + suffix)}")
    if clips:
        print(f"Sounds of logged values: {len(clips)} FLAC files beside it")
    return 0


def _verify(file: Path) -> int:
    from assistant.joblog.store import reading, verify

    with reading(file) as log:
        verdict = verify(log)
    if verdict.problem:
        raise HosesideError(f"{file}: {verdict.problem}; the {verdict.events} events before it "
                            "are whole.")
    print(f"{file}: whole and unaltered, {verdict.events} events.")
    return 0


def _report_all(arguments: argparse.Namespace) -> int:
    from assistant.joblog.fleet import as_text, summarise

    if not arguments.file.is_dir():
        raise HosesideError(f"{arguments.file}: is not a folder; --all wants the folder that the "
                            "job files are in.")
    out = arguments.out or arguments.file
    answers, problems = summarise(arguments.file, out)
    print(as_text(answers))
    for problem in problems:
        print(f"hoseside: {problem}", file=sys.stderr)
    print(f"\nKey events of all jobs: {out / 'events.parquet'}")
    return 1 if problems else 0


def plan_of(file: Path, entries: Sequence[Any]) -> Any:
    """The plan a job was begun with: its profile is in the log."""
    from assistant.job.events import JobStarted
    from assistant.job.plan import make_plan

    if not entries or not isinstance(entries[0].event, JobStarted):
        raise HosesideError(f"{file}: holds no job; nothing was logged in it.")
    with tempfile.TemporaryDirectory() as folder:
        profile = Path(folder) / "profile-in-the-log.yaml"
        profile.write_text(entries[0].event.profile, encoding="utf-8")
        return make_plan(profile)


# --- models --------------------------------------------------------------------------------------


def _models(arguments: argparse.Namespace) -> int:
    from assistant.models import fetch, known_weights, problem_with, vosk_folder

    for weights in known_weights():
        if arguments.fetch:
            fetched = fetch(weights)
            print(f"{weights.name}: {'fetched' if fetched else 'already here'}, hashes right.")
        else:
            problem = problem_with(weights)
            print(f"{weights.name}: {problem or 'here, hashes right'}.")
    folder = vosk_folder()
    print(f"vosk: {folder or 'no model here (see models/README.md)'}.")
    return 0


if __name__ == "__main__":
    sys.exit(main())
