"""What the artist does with a job: ordered, planned, worked on, reviewed."""
