"""The shelf: what moves on it, the owner's book that tells of it, and the marks it is filled by."""
