"""How much an upload may hold: enough for any farm, too little to stop a small server."""

from __future__ import annotations

MB = 1_000_000

UPLOAD_BYTES = 5 * MB
UNPACKED_BYTES = 20 * MB
RATIO = 100
"""Text packs to a tenth or a twentieth; a member packed tighter was made to burst."""
RATIO_FROM_BYTES = 100_000
"""Below this a member may pack as tightly as it likes: an empty table does."""
MEMBERS = 50
SHAPES = 500
PARTS = 100
"""Parts of one field, and holes of one part."""
RING_CORNERS = 2_000
ALL_CORNERS = 100_000
KEPT_CORNERS = 400
AREA_LOW_HA = 0.05
AREA_HIGH_HA = 2_000.0
DECIMALS = 7
"""Of a degree: a centimetre on the ground."""
DIGITS = 18
"""Of an integer in JSON: more is no coordinate and no name."""
PROPERTIES = 50
PROPERTY_LENGTH = 200
PROBLEMS_SHOWN = 20
PRJ_BYTES = 20_000
