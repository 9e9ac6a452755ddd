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
    report = verbs.add_parser("report", help="write the record of a job: HTML and CSV")
    report.add_argument("file", type=Path, metavar="JOB")
    report.add_argument("--out", type=Path, metavar="FOLDER", help="default: beside the job")
    report.set_defaults(run=_report)


# --- job -----------------------------------------------------------------------------------------


def profile_path(name: str) -> Path:
    """A profile's file from its short name or its path."""
    shipped = paths.CHECKLISTS / "equipment" / f"{name}.yaml"
    return shipped if shipped.exists() else Path(name)


def _job(arguments: argparse.Namespace) -> int:
    from assistant.run import run_job

    return run_job(
        file=arguments.file or _new_file(), title=arguments.title,
        profile=profile_path(arguments.profile), listen=arguments.listen,
        engine=arguments.engine, model=arguments.model, device=arguments.device,
        mute=arguments.mute, resume=arguments.resume)


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
    from assistant.joblog.report import record_csv, record_html
    from assistant.joblog.store import SqliteLog

    log = SqliteLog(arguments.file)
    try:
        entries = list(log.entries())
    finally:
        log.close()
    plan = plan_of(arguments.file, entries)
    out = arguments.out or arguments.file.parent
    out.mkdir(parents=True, exist_ok=True)
    for suffix, text in ((".html", record_html(plan, entries)), (".csv", record_csv(entries))):
        path = out / (arguments.file.stem + suffix)
        path.write_text(text, encoding="utf-8")
        print(f"Record: {path}")
    return 0


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
