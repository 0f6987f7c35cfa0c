"""What an owner does with their hands, and the one way from there to settings."""
