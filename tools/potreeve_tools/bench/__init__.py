"""Proofs and measurements that take longer than a test, or print a table."""
