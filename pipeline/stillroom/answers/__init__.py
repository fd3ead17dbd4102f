"""What a person asks of a house: prep list, sheet of a spec, tasting session, matches, reports."""
