"""The firmware as a board is sent it."""
