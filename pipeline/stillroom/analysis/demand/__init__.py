"""What will be sold, drink by drink, and what that takes of each preparation."""
