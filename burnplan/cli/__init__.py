"""The commands: parse, call the desk, show."""
