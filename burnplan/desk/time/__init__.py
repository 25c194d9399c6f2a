"""What the artist does about time: dates, planned sessions, the pace of work."""
