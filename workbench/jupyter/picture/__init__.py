"""Pictures on the bench and in the lessons."""
