"""What is kept: jobs with every revision, plans by content, people and their sessions."""
