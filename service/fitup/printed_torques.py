"""Torques that public tables print for bolts of SAE grades, and what they say of lubricant.

MSFC-STD-486B, table I: grades 5 and 8, dry and lubricated. US Army TM 9-2320-362-14&P, table
F-1, clean and dry. Where they differ the lower one counts.
"""

from service.fitup.threads import BoltClass, Thread
from service.units import lbft_to_nm, lbin_to_nm

MSFC_LBIN = {
    ("1/4-20", "grade 5"): (80.0, 72.0),
    ("5/16-18", "grade 5"): (150.0, 132.0),
    ("3/8-16", "grade 5"): (265.0, 228.0),
    ("1/4-20", "grade 8"): (102.0, 90.0),
    ("5/16-18", "grade 8"): (225.0, 198.0),
    ("3/8-16", "grade 8"): (375.0, 330.0),
}
"""Dry, lubricated [lbf·in]."""
ARMY_LBFT = {
    ("1/4-20", "grade 5"): 6.0,
    ("5/16-18", "grade 5"): 15.0,
    ("3/8-16", "grade 5"): 26.0,
    ("1/4-20", "grade 8"): 10.0,
    ("5/16-18", "grade 8"): 21.0,
    ("3/8-16", "grade 8"): 37.0,
}
"""Clean and dry, ± 10 % [lbf·ft]."""
WITH_OIL = 0.90
"""Of the clean dry torque with engine oil (the same manuals) [-]."""
NEW_PLATED = 0.80
"""Of it with new plated bolts [-]."""
INTO_ALUMINIUM = 0.70
"""Of it, or less, into aluminium [-]."""


def printed_torque_nm(thread: Thread, bolt: BoltClass, *, dry: bool) -> float | None:
    """Return the lower of the printed torques; None where neither table has the bolt [N m]."""
    key = (thread.name, bolt.name)
    if key not in MSFC_LBIN:
        return None
    army = lbft_to_nm(ARMY_LBFT[key])
    bare, lubricated = (lbin_to_nm(each) for each in MSFC_LBIN[key])
    return min(bare, army) if dry else min(lubricated, WITH_OIL * army)
