"""Text that is sent to a board and run there."""
