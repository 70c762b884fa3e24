"""Pages for a browser: only the check of a certificate for now. Nothing is stored, and no identity is asked."""
