"""Run documents to runs, or every problem: JSON Schema, then rules across fields."""
