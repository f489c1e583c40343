"""What has to be bought."""
