"""What templates are made of: plain shapes, profiles, letters, holes, hollows."""
