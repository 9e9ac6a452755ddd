"""`make bench`: how well it hears in noise, how soon it answers, with the parts, and how long
the operating point and the summary over many jobs take.

    python -m tests.benchmarks [hearing|response|figures|jobs] [--every N] [--engine NAME]
        [--model FOLDER]
"""

from __future__ import annotations

import argparse
import math
import random
import subprocess
import sys
import tempfile
import time
from collections import Counter, defaultdict
from pathlib import Path

import numpy as np

from assistant import paths
from assistant.calc.operating import operating_point
from assistant.conversation import Conversation
from assistant.hearing.ears import SoundEars
from assistant.hearing.listen import may_say_for
from assistant.hearing.operator import RecordedOperator, load_script
from assistant.hearing.recogniser import Recogniser
from assistant.job.plan import make_plan
from assistant.joblog.store import SqliteLog
from assistant.meaning.results import Number, Reading, Request
from assistant.meaning.weigh import understand
from assistant.models import make_recogniser
from assistant.speaking.mouth import Mouth
from assistant.speaking.voice import EspeakVoice, Muted
from assistant.testing import shipped_profile
from assistant.units import quantity
from tests.benchmarks.jobs import synthetic_jobs
from tests.benchmarks.mixing import LEVELS, RECORDINGS, Sample, mixed, noises, samples


def outcome(meaning, sample: Sample) -> str:
    """ "right", "refused" or "wrong"; for side talk refused is right."""
    if isinstance(meaning, Reading | Number):
        same = sample.value is not None and abs(meaning.value - sample.value) < 1e-6
        if isinstance(meaning, Reading) and sample.quantity not in (None, meaning.quantity):
            same = False
        return "right" if same else "wrong"
    if isinstance(meaning, Request):
        return "right" if meaning.name == sample.meaning else "wrong"
    return "refused"


def interval(hits: int, n: int) -> str:
    """Share in percent with its 95 % Wilson interval."""
    if n == 0:
        return "-"
    z, p = 1.96, hits / n
    centre = (p + z * z / (2 * n)) / (1 + z * z / n)
    half = z * math.sqrt(p * (1 - p) / n + z * z / (4 * n * n)) / (1 + z * z / n)
    return f"{100 * p:5.1f} ({100 * max(0, centre - half):.0f}-{100 * min(1, centre + half):.0f})"


def hearing(recogniser: Recogniser, every: int) -> None:
    """Right, refused and wrong by kind and noise, on the recordings."""
    if not RECORDINGS.exists():
        print(f"No recordings at {RECORDINGS}: hearing was not measured.")
        return
    clips, judged = noises(), samples()[::every]
    print(f"Hearing, engine {recogniser.name}, {len(judged)} recordings a level; "
          "percent with 95 % interval (utterances counted as independent)")
    print(f"{'noise':>7} {'kind':<18} {'n':>4} {'right':>16} {'refused':>16} {'wrong':>16}  s p50")
    for snr in LEVELS:
        counts: dict[str, Counter] = defaultdict(Counter)
        seconds = []
        for sample in judged:
            may = may_say_for(sample.expect, None)
            heard = recogniser.transcribe(mixed(sample, clips, snr), may)
            seconds.append(heard.seconds)
            who = "people" if sample.file.parent.name == "people" else "synthetic"
            kind = "side talk" if sample.meaning == "none" else sample.expect
            counts[f"{kind}, {who}"][outcome(understand(heard, may).meaning, sample)] += 1
        for kind, count in sorted(counts.items()):
            n = sum(count.values())
            row = [interval(count[k], n) for k in ("right", "refused", "wrong")]
            name = "quiet" if snr is None else f"{snr} dB"
            print(f"{name:>7} {kind:<18} {n:>4} {row[0]:>16} {row[1]:>16} {row[2]:>16}  "
                  f"{np.median(seconds):.2f}", flush=True)


def response(recogniser: Recogniser) -> None:
    """End of utterance to start of reply over the demo job, with the parts."""
    script = load_script(paths.ROOT / "demo" / "job.yaml")
    operator = RecordedOperator(script)
    with tempfile.TemporaryDirectory() as folder:
        log = SqliteLog(Path(folder) / "bench.job", create=True)
        talk = Conversation(
            make_plan(shipped_profile(script.profile)), SoundEars(operator, recogniser),
            Mouth(EspeakVoice(Muted()), lambda _s: None), log, told=operator.told)
        talk.run(script.title)
        log.close()
    print(f"End of utterance to start of reply, engine {recogniser.name}, "
          f"{len(talk.replies)} utterances of the demo job [s]")
    print(f"{'part':<26} {'p50':>6} {'p95':>6}")
    parts = sorted({k for _, t in talk.replies for k in t.stages})
    for part in parts:
        values = [t.stages.get(part, 0.0) for _, t in talk.replies]
        note = "  (while the operator speaks, not in the sum)" if part == "detector" else ""
        print(f"{part:<26} {np.percentile(values, 50):6.3f} {np.percentile(values, 95):6.3f}{note}")
    whole = [w for w, _ in talk.replies]
    print(f"{'whole':<26} {np.percentile(whole, 50):6.3f} {np.percentile(whole, 95):6.3f}")


def figures() -> None:
    """How long the figure that answers a reading takes, warm."""
    times = []
    for i in range(400):
        began = time.perf_counter()
        operating_point(
            quantity(4 + i % 5, "gpm"), quantity(3000, "psi"), quantity(0.375, "in"),
            quantity(100 + i, "ft"), quantity(0.05 + i % 7 / 200, "in"), bends=i % 4)
        times.append(1000 * (time.perf_counter() - began))
    times = times[20:]
    print(f"Operating point, {len(times)} solved warm: p50 {np.percentile(times, 50):.1f} ms, "
          f"p95 {np.percentile(times, 95):.1f} ms")


def jobs(count: int = 5000) -> None:
    """The summary over many synthetic jobs: time and memory, beside a tenth as many."""
    for size in (count // 10, count):
        with tempfile.TemporaryDirectory() as folder:
            synthetic_jobs(Path(folder), size, random.Random(1))
            code = ("import resource, sys, time; from pathlib import Path; "
                    "from assistant.joblog.fleet import summarise; t = time.perf_counter(); "
                    "answers, problems = summarise(Path(sys.argv[1]), Path(sys.argv[1]) / 'out'); "
                    "assert not problems; print(f'{time.perf_counter() - t:.1f} s, ' "
                    "f'{max(resource.getrusage(w).ru_maxrss for w in (resource.RUSAGE_SELF, "
                    "resource.RUSAGE_CHILDREN)) // 1024} MB at most in one process')")
            run = subprocess.run([sys.executable, "-c", code, folder], capture_output=True,
                                 text=True, check=True)
            print(f"Summary over {size} jobs: {run.stdout.strip()}")


def main() -> None:
    """Run what was asked for: both by default."""
    parser = argparse.ArgumentParser(prog="python -m tests.benchmarks")
    parser.add_argument("what", nargs="?", choices=("hearing", "response", "figures", "jobs"))
    parser.add_argument("--every", type=int, default=1, help="judge every N-th recording")
    parser.add_argument("--engine", default="whisper")
    parser.add_argument("--model", type=Path)
    arguments = parser.parse_args()
    if arguments.what in (None, "figures"):
        figures()
    if arguments.what in (None, "jobs"):
        jobs()
    if arguments.what in ("figures", "jobs"):
        return
    recogniser = make_recogniser(arguments.engine, arguments.model)
    if arguments.what != "hearing":
        response(recogniser)
    if arguments.what != "response":
        hearing(recogniser, arguments.every)


if __name__ == "__main__":
    main()
