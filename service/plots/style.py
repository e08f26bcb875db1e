"""How plots look: one style sheet, for pages and for files that stand alone.

The colours are those of Okabe and Ito's palette (2002) that keep 3:1 against white. No
meaning hangs on colour alone: every line has a dash pattern and a label of its own.
"""

BLUE, VERMILLION, GREEN, PURPLE = "#0072B2", "#D55E00", "#009E73", "#CC79A7"
SERIES_COLOURS = (BLUE, VERMILLION, GREEN, PURPLE, "#000000")
DASHES = ("none", "9 4", "2 3", "12 3 2 3", "5 2")

_SERIES = "".join(
    f".plot .line{place}{{stroke:{colour};stroke-dasharray:{dash}}}"
    f".plot .fill{place}{{fill:{colour}}}"
    f".plot .band{place}{{fill:{colour};fill-opacity:.16;stroke:{colour};stroke-width:.5;"
    f"stroke-dasharray:1 3}}"
    for place, (colour, dash) in enumerate(zip(SERIES_COLOURS, DASHES, strict=True))
)

STYLE = (
    ".plot{font-family:sans-serif;font-size:13px;fill:currentColor}"
    ".plot.own-size{width:auto;min-width:0}"
    ".plot .axis{stroke:currentColor;stroke-width:1.2;fill:none}"
    ".plot .grid{stroke:currentColor;stroke-opacity:.18;stroke-width:.8}"
    ".plot .line{fill:none;stroke-width:2.2}"
    ".plot .reference{stroke:currentColor;stroke-width:1.2;stroke-dasharray:3 3;fill:none}"
    ".plot .outline{fill:none;stroke:currentColor;stroke-width:1.4}"
    ".plot .mark{stroke:#fff;stroke-width:1}"
    ".plot .hollow{fill:#fff;stroke:currentColor;stroke-width:1.5}"
    ".plot .start{text-anchor:start}.plot .middle{text-anchor:middle}.plot .end{text-anchor:end}"
    ".plot .strong{font-weight:bold}"
    f"{_SERIES}"
    "@media (forced-colors:active){.plot .line,.plot .mark{stroke:CanvasText}}"
)
