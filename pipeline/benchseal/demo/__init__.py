"""The invented laboratory and its fortnight: documents, sheets and instrument files. Never evidence of a number."""
