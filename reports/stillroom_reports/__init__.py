"""How a report looks: chart theme, page, tables, export. No question of its own is asked here."""
