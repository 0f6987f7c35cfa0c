"""Pictures for the README, and the command that makes them."""
