"""Several visits of one floor, compared, with the places of the machines."""

from __future__ import annotations

from dataclasses import dataclass

from moisturemap.bundles.study import Study
from moisturemap.drying import DryingProgress
from moisturemap.equipment import Placement
from moisturemap.survey import Survey


@dataclass(frozen=True)
class VisitComparison:
    """The visits of a survey, compared.

    Attributes
    ----------
    survey : Survey
    latest : Study
        The main path of the latest visit compared; its holes are planned only where a study was at
        hand.
    drying : DryingProgress
        With forecasts on a calibrated basis, and vapour-pressure differences by zone, where tests
        tell them.
    notes : tuple of str
        Visits left out and why, and what was assumed.
    """

    survey: Survey
    latest: Study
    drying: DryingProgress
    notes: tuple[str, ...] = ()


@dataclass(frozen=True)
class EquipmentPlan:
    """Proposed places of the drying machines of a survey.

    Attributes
    ----------
    survey : Survey
    comparison : VisitComparison
        What the demand comes from.
    equipment_visit : str
        Visit whose machines are taken as standing today, "" without any.
    placement : Placement
    """

    survey: Survey
    comparison: VisitComparison
    equipment_visit: str
    placement: Placement


@dataclass(frozen=True)
class DryingPlan:
    """What the visits show and where the machines should stand.

    Attributes
    ----------
    comparison : VisitComparison
    equipment : EquipmentPlan or None
    no_equipment : str
        Why there is no equipment plan, "" else.
    """

    comparison: VisitComparison
    equipment: EquipmentPlan | None
    no_equipment: str = ""
