"""Method and samples to a run plan, its preparation sheet and labels; and what a measured run did otherwise."""
