"""The store: DuckDB tables made from the pandera models, the ledger of intakes, and the views in SQL."""
