"""The only SQL; project.py makes every derived row."""
