"""What a figure shows: its texts, those that run into one another, and those off the page."""

from __future__ import annotations

from matplotlib.backends.backend_agg import FigureCanvasAgg


def texts(figure) -> list[str]:
    return [text.get_text() for text in figure.axes[0].texts]


def overlaps(figure) -> list[tuple[str, str]]:
    """Pairs of texts whose boxes, as matplotlib sets them, run into one another."""
    canvas = FigureCanvasAgg(figure)
    renderer = canvas.get_renderer()
    shown = [text for text in figure.axes[0].texts if text.get_text().strip()]
    boxes = [text.get_window_extent(renderer) for text in shown]
    found = []
    for i, one in enumerate(boxes):
        for k in range(i + 1, len(boxes)):
            other = boxes[k]
            wide = min(one.x1, other.x1) - max(one.x0, other.x0)
            high = min(one.y1, other.y1) - max(one.y0, other.y0)
            if wide > 0.5 and high > 0.5:
                found.append((shown[i].get_text(), shown[k].get_text()))
    return found


def off_the_page(figure, margin: float = 8.0) -> list[str]:
    """Texts, and kinds of lines and fills, that come nearer than ``margin`` mm to the paper's edge."""
    canvas = FigureCanvasAgg(figure)
    renderer = canvas.get_renderer()
    per_mm = figure.dpi / 25.4
    width, height = (side / per_mm for side in (figure.bbox.width, figure.bbox.height))
    boxes = [
        (t.get_text(), t.get_window_extent(renderer).extents / per_mm) for t in figure.axes[0].texts
    ]
    for marks in figure.axes[0].collections:
        points = [point for path in marks.get_paths() for point in path.vertices.tolist()]
        across, up = zip(*points, strict=True)
        boxes.append((type(marks).__name__, (min(across), min(up), max(across), max(up))))
    return [
        what
        for what, (left, low, right, high) in boxes
        if what and (min(left, low) < margin or right > width - margin or high > height - margin)
    ]
