"""The words in which a row of the decision table tells why it applies."""

from service.compliance.devices import DeviceState
from service.compliance.outcomes import Outcome

STATE_WORDS = {
    DeviceState.CHANGED: "a part changes it",
    DeviceState.UNKNOWN: "what a part does to it is not recorded",
    DeviceState.REMOVED: "a part removes it",
    DeviceState.CONNECTION_LOST: "a part has no connection for it",
}

NOT_LISTED_WORDS = "a part's record speaks of it, and whether the factory fitted it is not recorded"

PAPER_WORDS = {
    Outcome.CONFLICT_DESCRIBED: "The record contradicts itself.",
    Outcome.NO_PAPER: "The part is not shown to be identical to the original and has no paper.",
    Outcome.PAPER_DOES_NOT_MATCH: "Its paper is for something else.",
    Outcome.PAPER_PARTIAL: "Its paper is not proven in every field.",
    Outcome.IDENTITY_CLAIMED: "It is said to be identical to the original; no evidence on file "
    "shows it in full.",
    Outcome.NOT_COVERED: "No rule about papers is held for this use.",
    Outcome.NO_RULE_IN_PROFILE: "The vehicle or engine is older than any rule in this profile.",
    Outcome.IDENTITY_SHOWN: "Evidence on file shows it identical to the original.",
    Outcome.PAPER_MATCHES: "Its paper names this application in every field.",
}
