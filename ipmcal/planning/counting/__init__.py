"""Counting: the days on which mites are counted, around what packing chose: the last thing that a visit takes along."""
