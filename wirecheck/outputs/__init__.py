"""What a reader gets of a report. Each output is a pure function from a report to text."""
