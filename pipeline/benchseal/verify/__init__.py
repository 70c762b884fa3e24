"""The strict outside check of a certificate, a checkpoint or a copied ledger."""
