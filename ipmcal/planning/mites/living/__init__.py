"""Living: a class of hives lived draw by draw, untreated and under courses, as the search and its judges take it."""
