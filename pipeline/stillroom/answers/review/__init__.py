"""A season at a glance, and a sheet for every drink, preparation and garnish: what page and terminal show first."""
