"""The flags of ``rootbound enroll``: names and units here, every check in intake."""

from __future__ import annotations

from typing import Annotated, TypeAlias

import typer


def _flag(help_text: str, metavar: str = "TEXT") -> object:
    """A flag that is taken as text: intake says in a sentence what is wrong with it."""
    return typer.Option(metavar=metavar, help=help_text)


Text: TypeAlias = str | None

Name = Annotated[Text, _flag("Name of the field, 1 to 80 characters.")]
Lat = Annotated[Text, _flag("Latitude, north positive.", "DEG")]
Lon = Annotated[Text, _flag("Longitude, east positive; negative in the Americas.", "DEG")]
Elevation = Annotated[Text, _flag("Above sea level; else the weather's own.", "M")]
RowCm = Annotated[Text, _flag("Row spacing, 18 to 150.", "CM")]
RowIn = Annotated[Text, _flag("Row spacing in inches instead.", "IN")]
Irrigated = Annotated[bool, typer.Option("--irrigated", help="The field is irrigated.")]
Crop = Annotated[Text, _flag("Crop; maize if not given.", "NAME")]
Planted = Annotated[Text, _flag("Planting day of this season.", "YYYY-MM-DD")]
BlackLayer = Annotated[
    Text, _flag("Heat units from planting to black layer: on the seed tag.", "GDD_F")
]
SeedCm = Annotated[Text, _flag("Seed depth, 1 to 12.", "CM")]
SeedIn = Annotated[Text, _flag("Seed depth in inches instead.", "IN")]
Texture = Annotated[Text, _flag("Soil texture, such as silt loam.", "NAME")]
FieldCapacity = Annotated[Text, _flag("Water content at field capacity.", "M3/M3")]
WiltingPoint = Annotated[Text, _flag("Water content at the wilting point.", "M3/M3")]
Clay = Annotated[Text, _flag("Clay, 0 to 60.", "%")]
OrganicMatter = Annotated[Text, _flag("Organic matter, 0 to 8.", "%")]
Profile = Annotated[Text, _flag("Depth roots may reach, 0.3 to 2.5.", "M")]
WaterTable = Annotated[Text, _flag("Depth to a shallow water table.", "M")]
Grower = Annotated[Text, _flag("Who gets notes and digest.", '"NAME <MAIL>"')]
Adviser = Annotated[Text, _flag("Who advises on the field.", '"NAME <MAIL>"')]
UnitSystem = Annotated[Text, _flag("Units these people read: us or metric.", "UNITS")]
