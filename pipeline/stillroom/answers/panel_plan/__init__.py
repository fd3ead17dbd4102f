"""Drawing up a blind tasting session: who gets what in which order, codes, ballots, and the key that undoes them."""
