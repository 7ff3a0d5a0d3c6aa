"""What is drawn by code: charts, hives, combs, squares that a phone reads. Out: SVG in pages."""
