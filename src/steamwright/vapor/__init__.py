"""Build-ups and covering as arrays for physics, and what comes back as verdicts: vapor, moisture, steam load."""
