"""How much food a hive wants for winter: by region, as published, where it is weighed or hefted."""

from __future__ import annotations

import pytest
from planning.yards import SHIPPED_REGIONS, colony, outfit, plan, shipped, yard

PUBLISHED = {
    "england_south_midlands": "20 to 25 kg (44 to 55 lb)",  # BBKA News 216: 20 kg in one box, 25 kg in one and a half
    "germany_central_europe": "15 to 20 kg (33 to 44 lb)",  # bienen&natur: 15 kg, above 20 kg in a mild winter
    "mediterranean_spain_italy": "13 to 15 kg (29 to 33 lb)",  # a teaching page for keepers, Italy
    "canada_ontario": "25 to 32 kg (55 to 71 lb)",  # CAPA, read in a keeper's notes: 55 lb in one box, 70 lb in two
    "us_upper_midwest": "27 to 41 kg (60 to 90 lb)",  # extension, northern states, from memory
    "us_southeast_piedmont": "14 to 18 kg (31 to 40 lb)",  # an association, Georgia: 30 lb at the least
    "au_nsw": "15 to 20 kg (33 to 44 lb)",  # NSW DPI: at least 15 to 20 kg
}


@pytest.mark.parametrize("region", PUBLISHED)
def test_the_sheet_says_it_where_a_hive_is_weighed(region: str) -> None:
    made = plan(outfit(yard(colony("1"), region=region, program="full")), book=shipped())
    words = f"For winter here: {PUBLISHED[region]} of honey alone."
    asked = [task for task in made.tasks if task.logs in ("winter_fed", "hefted")]
    assert asked
    assert all(words in task.notes and words in task.how for task in asked)
    assert not [task for task in made.tasks if words in task.notes and task not in asked]
    assert made.yards[0].stores == words


def test_every_region_has_a_weight_with_its_source() -> None:
    for region in SHIPPED_REGIONS:
        wanted = shipped().regions[region].winter_stores
        assert wanted is not None, region
        assert wanted.cites, region
        assert 5 < wanted.value.low <= wanted.value.high < 50, region
