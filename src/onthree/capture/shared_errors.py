"""What one wrong focal length, one wrong tag place or crooked axes do to every frame of a film at once.

A body's pose is the best for the camera and layout it was fitted with. If these are off by d, the pose is off by
-(information of the body)^-1 (body with shared) d. Errors of camera and layout go together as their covariance says;
they are split into parts that do not: the axes of the segments, the focal length with what follows it, and the rest.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from onthree.capture.bundle import CAMERA_COUNT
from onthree.capture.layout import Layout
from onthree.capture.poses import Poses, Views, slopes, summed_by_body, view_weights

FloatArray = NDArray[np.float64]

MOST_OF_THE_REST = 16
"""Parts of the remaining error of camera and layout that are told apart; the smallest are taken together."""
VIEWS_AT_ONCE = 2000
AXES, ORIGIN = "axes", "origin"
"""How the names of errors begin that turn the axes of a segment (and may shift its origin too), or only shift it."""


@dataclass(frozen=True, eq=False)
class SharedErrors:
    """Independent errors (8 + 6 t, k) of camera and layout, each of one standard deviation, and their names (k)."""

    columns: FloatArray
    names: tuple[str, ...]


def shared_errors(layout: Layout) -> SharedErrors:
    """The parts that the uncertainty of camera and layout is made of."""
    axes = layout.gauge @ np.linalg.cholesky(layout.gauge_covariance)
    rest = layout.fit.covariance - axes @ axes.T
    columns, names = [], []
    if rest[0, 0] > 0:
        columns.append(rest[:, 0] / np.sqrt(rest[0, 0]))
        names.append("focal")
        rest = rest - np.outer(columns[0], columns[0])
    for part, column in enumerate(_largest(rest, layout)):
        columns.append(column)
        names.append(f"layout {part + 1}")
    for index, segment in enumerate(layout.segments):
        columns += list(axes[:, 6 * index : 6 * index + 6].T)
        names += [f"{AXES} of {segment} {axis}" for axis in (1, 2, 3)]
        names += [f"{ORIGIN} of {segment} {axis}" for axis in (1, 2, 3)]
    return SharedErrors(np.stack(columns, axis=1), tuple(names))


def _largest(rest: FloatArray, layout: Layout) -> list[FloatArray]:
    """The rest as columns, the weightiest first, each entry weighed by what it does to a tag."""
    size_m = np.mean([tag.size_m for tag in layout.tags])
    weight = np.ones(len(rest))
    weight[CAMERA_COUNT:] = np.tile([1, 1, 1, *[1 / size_m] * 3], len(layout.tags))
    weight[:CAMERA_COUNT] = 0.1 / np.sqrt(np.maximum(np.diag(layout.fit.covariance)[:CAMERA_COUNT], 1e-30)) * 0.01
    values, vectors = np.linalg.eigh(rest * weight[:, None] * weight)
    order = np.argsort(-values)[:MOST_OF_THE_REST]
    return [vectors[:, one] * np.sqrt(max(values[one], 0.0)) / weight for one in order]


def body_errors(
    camera: FloatArray,
    layout: Poses,
    bodies: Poses,
    views: Views,
    errors: SharedErrors,
    sd_px: float,
    seen_off_px: FloatArray | None = None,
) -> FloatArray:
    """What each error does to each body (b, 6, k): it turns it in its own axes, and shifts it; zero without a view.

    ``seen_off_px`` (n, 8) is how far the corners themselves are seen off, if the errors do that too.
    """
    count = len(bodies.place_m)
    moved = np.zeros((count, 6, len(errors.names)))
    tag_columns = errors.columns[CAMERA_COUNT:].reshape(-1, 6, len(errors.names))
    for start in range(0, count, VIEWS_AT_ONCE):
        inside = (views.body >= start) & (views.body < start + VIEWS_AT_ONCE)
        part = views.of(inside)
        if not len(part):
            continue
        now = slopes(camera, layout, bodies, part)
        weight = view_weights(now.residual, sd_px)[:, None, None] / sd_px**2
        pixels = now.by_camera @ errors.columns[:CAMERA_COUNT] + now.by_tag @ tag_columns[part.tag]
        if seen_off_px is not None:
            pixels = pixels - seen_off_px[inside][..., None]
        across = now.by_body.transpose(0, 2, 1) * weight
        information = summed_by_body(across @ now.by_body, part.body, count)
        mixed = summed_by_body(across @ pixels, part.body, count)
        seen = np.unique(part.body)
        moved[seen] = -np.linalg.solve(information[seen], mixed[seen])
    return moved
