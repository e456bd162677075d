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


def off_the_page(figure) -> list[str]:
    canvas = FigureCanvasAgg(figure)
    renderer = canvas.get_renderer()
    width, height = figure.bbox.width, figure.bbox.height
    boxes = [(t.get_text(), t.get_window_extent(renderer)) for t in figure.axes[0].texts]
    return [
        text
        for text, box in boxes
        if text and (box.x0 < 0 or box.y0 < 0 or box.x1 > width or box.y1 > height)
    ]
