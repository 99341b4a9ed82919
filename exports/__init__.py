"""Top floor: views, drawings, file formats and the command line. Knows no rule of building."""
