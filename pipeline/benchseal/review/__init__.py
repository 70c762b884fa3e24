"""Life cycles, separation of duty and guards; pure."""
