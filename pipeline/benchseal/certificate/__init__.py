"""Evidence to HTML to PDF to sealed PDF."""
