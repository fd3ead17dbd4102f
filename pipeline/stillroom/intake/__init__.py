"""Taking files in: read (by a source plugin), check, land; good rows into the store, bad rows set aside."""
