"""What a figure shows: its texts, those that run into one another, and those off the page."""

from __future__ import annotations

from functools import lru_cache

from matplotlib.backends.backend_agg import FigureCanvasAgg


def texts(figure) -> list[str]:
    return [text.get_text() for text in figure.axes[0].texts]


@lru_cache(maxsize=1)
def _placed(figure) -> list:
    """Each text with its box in pixels, as matplotlib sets it; of a figure that nobody changes."""
    renderer = FigureCanvasAgg(figure).get_renderer()
    return [(t.get_text(), t.get_window_extent(renderer)) for t in figure.axes[0].texts]


def overlaps(figure) -> list[tuple[str, str]]:
    """Pairs of texts whose boxes, as matplotlib sets them, run into one another."""
    shown = [(text, box) for text, box in _placed(figure) if text.strip()]
    found = []
    for i, (text, one) in enumerate(shown):
        for further, other in shown[i + 1 :]:
            wide = min(one.x1, other.x1) - max(one.x0, other.x0)
            high = min(one.y1, other.y1) - max(one.y0, other.y0)
            if wide > 0.5 and high > 0.5:
                found.append((text, further))
    return found


def off_the_page(figure, margin: float = 8.0) -> list[str]:
    """Texts, and kinds of lines and fills, that come nearer than ``margin`` mm to the paper's edge."""
    per_mm = figure.dpi / 25.4
    width, height = (side / per_mm for side in (figure.bbox.width, figure.bbox.height))
    boxes = [(text, box.extents / per_mm) for text, box in _placed(figure)]
    for marks in figure.axes[0].collections:
        points = [point for path in marks.get_paths() for point in path.vertices.tolist()]
        across, up = zip(*points, strict=True)
        boxes.append((type(marks).__name__, (min(across), min(up), max(across), max(up))))
    return [
        what
        for what, (left, low, right, high) in boxes
        if what and (min(left, low) < margin or right > width - margin or high > height - margin)
    ]
