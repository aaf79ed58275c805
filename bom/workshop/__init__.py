"""What a workshop does beside estimating a job: books begun, kept and filled in."""
