"""What plugins implement, and how they are found and checked."""
