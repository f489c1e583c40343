"""Arrays in, arrays out, SI: what air, walls, mortar and people do with heat and water. Knows no room and no material name."""
