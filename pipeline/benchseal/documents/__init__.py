"""YAML, CSV and spreadsheets with JSON Schema to typed values, or every problem with its place."""
