"""What a tasting panel scored: designs, models, verdicts between versions, and what each panelist's scores tell."""
