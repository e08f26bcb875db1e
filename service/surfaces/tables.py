"""How surfaces are kept."""

from typing import Any

from sqlmodel import Field

from service.columns import JSON_VALUE, ValueRow


class SurfaceRow(ValueRow, table=True):
    """The surface of one family: what is told of it, and the numbers that it consists of."""

    __tablename__ = "surface"

    family: str = Field(primary_key=True, max_length=40)
    numbers: dict[str, Any] = Field(sa_type=JSON_VALUE)
