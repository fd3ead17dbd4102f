"""What is printed: the hand-out of a season, sheets of things, the prep list, ballots; as tagged PDF."""
