"""How large pictures are unless someone says otherwise."""

PASSAGE_WIDTH_MM = 160.0  # fits between the margins of A4 and US Letter
CHART_HEIGHTS_MM = 30.0, 600.0  # from the least that can be read to a poster
PICTURE_DPI = 300  # as printers ask for (common practice, no source)
