"""benchseal: from bench readings to sealed certificates."""

__version__ = "0.1.0"
