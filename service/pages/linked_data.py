"""A part as schema.org's Product, for whoever reads pages by machine; the page's own figures."""

import json

from service.catalog.parts import Part
from service.money import decimal_text
from service.pages.words import plain

IN_STOCK, ON_ORDER = "https://schema.org/InStock", "https://schema.org/BackOrder"


def product(part: Part, family_titles: tuple[str, ...]) -> str:
    """Return JSON-LD that can stand in a script element: no `<` in it ends the element."""
    document = {
        "@context": "https://schema.org",
        "@type": "Product",
        "sku": part.sku,
        "mpn": part.maker_reference,
        "name": part.title,
        "category": plain(part.slot.value),
        "weight": {"@type": "QuantitativeValue", "value": part.weight_g, "unitCode": "GRM"},
        "isAccessoryOrSparePartFor": [
            {"@type": "Product", "name": title} for title in family_titles
        ],
        "offers": {
            "@type": "Offer",
            "price": decimal_text(part.price_cents),
            "priceCurrency": part.currency,
            "availability": IN_STOCK if part.stock_count else ON_ORDER,
        },
    }
    return json.dumps(document, ensure_ascii=False).replace("<", "\\u003c")
