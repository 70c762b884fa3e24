"""Persons, roles, passwords and signature statements."""
