"""Work sheets drawn to PDF and to a page that prints."""

from html import escape

from service.install.printed import Block, Printed
from service.plots.style import STYLE
from service.typesetting import typeset

_PAGE_STYLE = (
    "body{font:16px/1.45 sans-serif;max-width:60rem;margin:1rem auto;padding:0 1rem;color:#111;"
    "background:#fff}h2{font-size:1.1rem;margin:1.2em 0 .3em;break-after:avoid}"
    "table{border-collapse:collapse;width:100%}th,td{border:1px solid #767676;padding:.25em .4em;"
    "text-align:left;vertical-align:top}tr,.plot{break-inside:avoid}.wide{overflow-x:auto}"
    ".plot{max-width:100%}.caution{border:3px solid #111;padding:0 .8em}"
    "@media print{body{font-size:10pt;max-width:none;margin:0}.wide{overflow:visible}}"
)


def work_sheet_pdf(sheet: Printed) -> bytes:
    """Return the sheet; the same sheet is the same bytes."""
    return typeset("install/work_sheet.typ", _data(sheet))


def work_sheet_page(sheet: Printed) -> str:
    """Return the sheet as one page without scripts, to be read on a tablet or printed."""
    blocks = "".join(_block(block) for block in sheet.blocks)
    return (
        '<!doctype html><html lang="en"><head><meta charset="utf-8">'
        '<meta name="viewport" content="width=device-width, initial-scale=1">'
        f"<title>{escape(sheet.title)}</title><style>{_PAGE_STYLE}{STYLE}</style></head><body>"
        f"<main><h1>{escape(sheet.title)}</h1><p>{escape(sheet.about)}</p>{blocks}"
        f"<p><small>{escape(sheet.note)}</small></p></main></body></html>"
    )


def _data(sheet: Printed) -> dict[str, object]:
    return {
        "title": sheet.title,
        "about": sheet.about,
        "note": sheet.note,
        "blocks": [
            {
                "heading": block.heading,
                "lines": block.lines,
                "head": block.head,
                "widths": block.widths,
                "rows": block.rows,
                "drawing": block.drawing.file() if block.drawing else None,
                "drawing_width": block.drawing.width if block.drawing else 0.0,
                "says": block.drawing.description if block.drawing else "",
            }
            for block in sheet.blocks
        ],
    }


def _block(block: Block) -> str:
    lines = "".join(f"<li>{escape(line)}</li>" for line in block.lines)
    drawn = f"<figure>{block.drawing.inline()}</figure>" if block.drawing else ""
    cells = "".join(f'<th scope="col">{escape(name)}</th>' for name in block.head)
    rows = "".join(
        "<tr>" + "".join(f"<td>{escape(cell)}</td>" for cell in row) + "</tr>" for row in block.rows
    )
    table = (
        f'<div class="wide" tabindex="0" role="region" aria-label="{escape(block.heading)}">'
        f"<table><thead><tr>{cells}</tr></thead><tbody>{rows}</tbody></table></div>"
        if rows
        else ""
    )
    mark = ' class="caution"' if block.heading == "Cautions" else ""
    listed = f"<ul>{lines}</ul>" if lines else ""
    return f"<section{mark}><h2>{escape(block.heading)}</h2>{listed}{drawn}{table}</section>"
