"""The only place that calls the parts in order.

Each name below is fetched from its module when it is first asked for: a command that prints an idle does
not wait for the drawings of the book.
"""

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from lugwright.workflow.book import write_book, write_plan
    from lugwright.workflow.cards import CardNow, card_drawing, cards_now
    from lugwright.workflow.charts import write_drawing, write_fits, write_plate_curves, write_start
    from lugwright.workflow.checks import Checked, all_checks, quick_checks
    from lugwright.workflow.drafts import (
        Draft,
        draft_side,
        drafted,
        file_change,
        keep_draft,
        part_put,
    )
    from lugwright.workflow.idle_bench import measured_idle, setting_for
    from lugwright.workflow.kept_open import refreshed
    from lugwright.workflow.machine_code import prepare_sliders
    from lugwright.workflow.measured import FittedTubes, fitted_tubes, matched_tubes
    from lugwright.workflow.measuring import Photo, as_built_rows, measured_in, photographed, take_as_built_back
    from lugwright.workflow.meter_bench import read_by_meter
    from lugwright.workflow.opened import Opened, open_build, without_strips, worst_grade
    from lugwright.workflow.photos import keep_photo, photo_file, photo_folder, picture_kind, refused_picture
    from lugwright.workflow.pictures import small_picture
    from lugwright.workflow.planning import planning_words
    from lugwright.workflow.plans import choose_plan, compared_plans, plan_afresh
    from lugwright.workflow.power_up import (
        alarms_now,
        pass_over,
        power_up_now,
        reading_at,
        step_done,
        step_number,
        step_reading,
    )
    from lugwright.workflow.probing import ProbeDrawings, ProbePicture
    from lugwright.workflow.quick_response import ResponseBench, TriedResponse
    from lugwright.workflow.readings import (
        SaidReading,
        read_in,
        reading_findings,
        readings_before,
        readings_now,
        said_in_file,
        stirred_up,
        take_readings_back,
    )
    from lugwright.workflow.seeing import SaidSign, check_signs, signs_in, take_signs_back
    from lugwright.workflow.studies import (
        ohms_at,
        power_or_why_not,
        rest_and_hiss,
        spread_of_builds,
        start_standing_by,
        start_with_silicon,
    )
    from lugwright.workflow.ticking import (
        Ticked,
        exported,
        log_text,
        noted,
        progress_now,
        rescued_into,
        taken_back,
        taken_in,
        tick,
        where_it_stands,
    )
    from lugwright.workflow.tracing import FaultBench, fault_bench, suspects_drawing, write_suspects
    from lugwright.workflow.undoing import Happening, happenings, undone
    from lugwright.workflow.wiring import plan_stands, side_of, worst_volts


__all__ = [
    "CardNow",
    "Checked",
    "Draft",
    "FaultBench",
    "FittedTubes",
    "Happening",
    "Opened",
    "Photo",
    "ProbeDrawings",
    "ProbePicture",
    "ResponseBench",
    "SaidReading",
    "SaidSign",
    "Ticked",
    "TriedResponse",
    "alarms_now",
    "all_checks",
    "as_built_rows",
    "card_drawing",
    "cards_now",
    "check_signs",
    "choose_plan",
    "compared_plans",
    "draft_side",
    "drafted",
    "exported",
    "fault_bench",
    "file_change",
    "fitted_tubes",
    "happenings",
    "keep_draft",
    "keep_photo",
    "log_text",
    "matched_tubes",
    "measured_idle",
    "measured_in",
    "noted",
    "ohms_at",
    "open_build",
    "part_put",
    "pass_over",
    "photo_file",
    "photo_folder",
    "photographed",
    "picture_kind",
    "plan_afresh",
    "plan_stands",
    "planning_words",
    "power_or_why_not",
    "power_up_now",
    "prepare_sliders",
    "progress_now",
    "quick_checks",
    "read_by_meter",
    "read_in",
    "reading_at",
    "reading_findings",
    "readings_before",
    "readings_now",
    "refreshed",
    "refused_picture",
    "rescued_into",
    "rest_and_hiss",
    "said_in_file",
    "setting_for",
    "side_of",
    "signs_in",
    "small_picture",
    "spread_of_builds",
    "start_standing_by",
    "start_with_silicon",
    "step_done",
    "step_number",
    "step_reading",
    "stirred_up",
    "suspects_drawing",
    "take_as_built_back",
    "take_readings_back",
    "take_signs_back",
    "taken_back",
    "taken_in",
    "tick",
    "undone",
    "where_it_stands",
    "without_strips",
    "worst_grade",
    "worst_volts",
    "write_book",
    "write_drawing",
    "write_fits",
    "write_plan",
    "write_plate_curves",
    "write_start",
    "write_suspects",
]

_HOMES = {
    "book": ("write_book", "write_plan"),
    "cards": ("CardNow", "card_drawing", "cards_now"),
    "charts": ("write_drawing", "write_fits", "write_plate_curves", "write_start"),
    "checks": ("Checked", "all_checks", "quick_checks"),
    "drafts": (
        "Draft", "draft_side", "drafted", "file_change", "keep_draft", "part_put",
    ),
    "idle_bench": ("measured_idle", "setting_for"),
    "kept_open": ("refreshed",),
    "machine_code": ("prepare_sliders",),
    "measured": ("FittedTubes", "fitted_tubes", "matched_tubes"),
    "measuring": ("Photo", "as_built_rows", "measured_in", "photographed", "take_as_built_back"),
    "meter_bench": ("read_by_meter",),
    "opened": ("Opened", "open_build", "without_strips", "worst_grade"),
    "photos": ("keep_photo", "photo_file", "photo_folder", "picture_kind", "refused_picture"),
    "pictures": ("small_picture",),
    "planning": ("planning_words",),
    "plans": ("choose_plan", "compared_plans", "plan_afresh"),
    "power_up": ("pass_over", "power_up_now", "step_done", "step_number", "step_reading", "alarms_now", "reading_at"),
    "probing": ("ProbeDrawings", "ProbePicture"),
    "readings": (
        "SaidReading", "read_in", "reading_findings", "readings_now",
        "said_in_file", "take_readings_back", "readings_before", "stirred_up",
    ),
    "seeing": ("SaidSign", "check_signs", "signs_in", "take_signs_back"),
    "quick_response": ("ResponseBench", "TriedResponse"),
    "studies": (
        "ohms_at", "power_or_why_not", "rest_and_hiss", "spread_of_builds", "start_standing_by", "start_with_silicon",
    ),
    "ticking": (
        "Ticked", "exported", "log_text", "noted", "progress_now", "rescued_into", "taken_back", "taken_in", "tick",
        "where_it_stands",
    ),
    "tracing": ("FaultBench", "fault_bench", "write_suspects", "suspects_drawing"),
    "undoing": ("Happening", "happenings", "undone"),
    "wiring": ("plan_stands", "side_of", "worst_volts"),
}  # fmt: skip
_HOME_OF = {name: home for home, names in _HOMES.items() for name in names}


def __getattr__(name: str) -> Any:
    if name not in _HOME_OF:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(import_module(f"{__name__}.{_HOME_OF[name]}"), name)
