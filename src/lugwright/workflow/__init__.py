"""The only place that calls the parts in order."""

from lugwright.workflow.book import book_records, write_book, write_plan
from lugwright.workflow.charts import write_drawing, write_fits, write_plate_curves, write_start
from lugwright.workflow.measured import FittedTubes, fitted_tubes, matched_tubes
from lugwright.workflow.opened import (
    Opened,
    open_build,
    spread_of_builds,
    start_standing_by,
    start_with_silicon,
    without_strips,
    worst_grade,
)

__all__ = [
    "FittedTubes",
    "Opened",
    "book_records",
    "fitted_tubes",
    "matched_tubes",
    "open_build",
    "spread_of_builds",
    "start_standing_by",
    "start_with_silicon",
    "without_strips",
    "worst_grade",
    "write_book",
    "write_drawing",
    "write_fits",
    "write_plan",
    "write_plate_curves",
    "write_start",
]
