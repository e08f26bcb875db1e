"""What preload is left in a bolted joint once it has settled."""

from service.fitup.spans import Span

RELAXATION = 0.05
"""Of the preload, lost after tightening (NASA-TM-106943, equations 15 and 16) [-]."""


def settled_preload_n(mean_n: float, scatter: float) -> Span:
    """Return what a preload may be: least once it has settled, most when just tightened.

    Parameters
    ----------
    mean_n : float
        T / (K d). [N]
    scatter : float
        To either side, of the mean. [-]

    Returns
    -------
    Span
        F (1 - u) / 1.05 to F (1 + u) (NASA-TM-106943, equations 15 and 16). [N]
    """
    return Span(mean_n * (1.0 - scatter) / (1.0 + RELAXATION), mean_n * (1.0 + scatter))
