"""Packing with as many steps as the shipped rules allow, for tests that don't ask about these."""

from __future__ import annotations

from functools import partial

from planning.yards import shipped

from ipmcal.planning.pack import pack as packing

MOST = packing.most_steps(shipped().planning)
pack = partial(packing.pack, most=MOST)
pack_drives = partial(packing.pack_drives, most=MOST)
