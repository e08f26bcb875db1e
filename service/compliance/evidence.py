"""What the decision table looks at, and what one of its rows says."""

from dataclasses import dataclass
from datetime import date

from service.catalog.parts import Part
from service.compliance.application import Application, changed_parts
from service.compliance.devices import DeviceBlock
from service.compliance.jurisdictions import PaperRule, Profile
from service.compliance.outcomes import Outcome
from service.compliance.paperwork import PaperworkBlock
from service.quantities import EDGE_CONFIG, Name, PositiveCount, Text


@dataclass(frozen=True, slots=True, kw_only=True)
class Ground:
    """One row of the decision table that applies."""

    __pydantic_config__ = EDGE_CONFIG

    row: PositiveCount
    outcome: Outcome
    because: Text
    parts: tuple[Name, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Evidence:
    """Everything that the decision table looks at."""

    parts: tuple[Part, ...]
    application: Application
    profile: Profile | None
    devices: DeviceBlock
    paperwork: PaperworkBlock
    today: date

    @property
    def changed(self) -> tuple[Part, ...]:
        """Parts that are not the factory's own, or are so no longer."""
        return changed_parts(self.parts)

    @property
    def rule(self) -> PaperRule | None:
        """What papers the profile asks for."""
        return self.profile.paper_rule(self.application.use) if self.profile else None
