"""Released results and a profile to files and manifests."""
