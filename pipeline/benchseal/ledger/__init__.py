"""Chain, Merkle tree, proofs and checkpoints; pure, storage is lent to it."""
