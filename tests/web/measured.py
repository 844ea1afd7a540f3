"""A run with a film that was measured, without measuring one: numbers of our own in the files the pages read."""

import json

import numpy as np
from django.utils import timezone

from onthree.actions.kept_films import measured_folder
from onthree.actions.measured_traces import ABOUT_FILE, COLUMNS, TRACES_FILE
from onthree.store.models import MeasureJob, RigFile, Run
from tests.web.films import ROLL

FRAMES_HZ = 60


def measured_run(code: str, count: int = 600, words: str = "so") -> MeasureJob:
    """A measured film of a run: so many moments of three angles and their total, every text of it the same words."""
    run = Run.objects.get(code=code)
    now = timezone.now()
    rig = RigFile.objects.create(
        organisation=run.organisation, name=words, content="", day=now.date(), by=words, at=now
    )
    job = MeasureJob.objects.create(
        organisation=run.organisation,
        run=run,
        rig=rig,
        recordings=["REC-3"],
        by=words,
        at=now,
        finished_at=now,
        state="done",
        told=told(words),
    )
    folder = measured_folder(job.pk)
    folder.mkdir(parents=True)
    (folder / TRACES_FILE).write_bytes(traces(count).astype("<f4").tobytes())
    (folder / ABOUT_FILE).write_text(json.dumps(about(count, words)), encoding="utf-8")
    return job


def traces(count: int) -> "np.ndarray[tuple[int, int], np.dtype[np.float64]]":
    """Time [s], three slow swings with noise and their size [degrees], half bands [degrees]; a gap in the middle."""
    time_s = np.arange(count) / FRAMES_HZ
    noise = np.random.default_rng(3).normal(0, 0.4, (3, count))
    angles_deg = np.array([[8.0], [5.0], [12.0]]) * np.sin(time_s / np.array([[7.0], [11.0], [17.0]])) + noise
    columns = np.vstack([time_s, angles_deg, np.hypot.reduce(angles_deg), np.full((4, count), 1.5)])
    columns[1:, count // 2 : count // 2 + count // 50] = np.nan
    return columns


def about(count: int, words: str) -> dict[str, object]:
    """What stands beside the traces."""
    end_s = count / FRAMES_HZ
    phase = {"name": words, "start_s": end_s / 4, "end_s": end_s / 2, "peak_s": end_s / 3}
    return {
        "columns": COLUMNS,
        "count": count,
        "phases": [{**phase, "head_at_s": end_s / 4 + 0.2, "body_at_s": end_s / 4 + 0.1}],
        "seen": {words: 0.98},
        "trace_rows": [[[words, -1.0, 2.0, 1.5]]] * 4,
    }


def told(words: str) -> dict[str, object]:
    """What was said of the film."""
    band_s = {"low_s": 0.1, "high_s": 0.3}
    passing = {"at_s": 0.2, **band_s}
    lag = {
        "said": words,
        "value_s": 0.2,
        **band_s,
        "later": {"value_s": 0.2, **band_s},
        "head": passing,
        "body": passing,
    }
    phase = {"name": words, "technique": ROLL, "start_s": 1.0, "end_s": 2.0, "start_lag": lag}
    measure = {"value": 9.5, "low": 8.0, "high": 11.0, "noise_floor": 0.5, "widened_by": words}
    texts = dict.fromkeys(("headline", "measured_as", "neutral", "order"), words)
    lists = {name: [words] for name in ("cautions", "flags", "left_out", "tags_left_out")}
    rung = {"number": 4, "reached": words, "lifts": [words]}
    return {
        **texts,
        **lists,
        "rung": rung,
        "phases": [{**phase, "said": words, "measures": {"peak_total_deg": measure}}],
    }
