"""The work sheet: what a mechanic does, in which order, with what, and what is written down."""
