"""What things are: frozen records, canonical bytes, identifiers, quantities."""
