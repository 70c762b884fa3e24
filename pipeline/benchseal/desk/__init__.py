"""The acts: transaction, clock, keys and ledger meet here and nowhere else."""
