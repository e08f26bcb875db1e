"""The parts list of an assessment by itself: as JSON, and as a file for a spreadsheet."""
