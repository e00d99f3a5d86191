"""A small two-piece study with [size]."""

TWO_PIECE = """
format = 1
study = { title = "Invented halves" }
rotor = { outer_radius_mm = 165.0, thickness_mm = 28.0 }
pad = { thickness_mm = 16.0, height_mm = 50.0, length_mm = 110.0 }

[caliper]
layout = "two-piece"
wall = { length_mm = 220.0, bottom_y_mm = 105.0, top_y_mm = 190.0, thickness_mm = 34.0, floor_mm = 9.0, pockets = [
  { x_mm = [-108.0, -70.0], y_mm = [105.0, 128.0], depth_mm = 8.0 } ] }
bore = [{ x_mm = -30.0, y_mm = 135.0, diameter_mm = 40.0 }, { x_mm = 30.0, y_mm = 135.0, diameter_mm = 40.0 }]
bridge = [
  { name = "lead", x_mm = [-110.0, -78.0], fillet_mm = 5.0 },
  { name = "trail", x_mm = [78.0, 110.0], fillet_mm = 5.0 },
]
bolt = [
  { x_mm = -94.0, y_mm = 152.0, thread = "M12x1.75", grade = "12.9" },
  { x_mm = -94.0, y_mm = 177.0, thread = "M12x1.75", grade = "12.9" },
  { x_mm = 94.0, y_mm = 152.0, thread = "M12x1.75", grade = "12.9" },
  { x_mm = 94.0, y_mm = 177.0, thread = "M12x1.75", grade = "12.9" },
]

[[load_case]]
name = "stop"
pressure_MPa = 6.0
[[load_case]]
name = "hot stop"
pressure_MPa = 6.0
body_temperature_C = 120.0

[size]
bridges = ["lead"]
rotation_mrad = 2.0
[[size.dimension]]
path = "caliper.wall.thickness_mm"
range = [28.0, 44.0]
[[size.dimension]]
path = "caliper.wall.top_y_mm"
range = [186.0, 196.0]
[[size.dimension]]
path = ["caliper.bridge[1].fillet_mm", "caliper.bridge[2].fillet_mm"]
range = [3.0, 9.0]
[[size.dimension]]
path = "caliper.wall.pockets[1].depth_mm"
range = [2.0, 14.0]
"""
