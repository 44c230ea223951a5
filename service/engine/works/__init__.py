"""What crew, buyer and customer get: runs, labels, pulls, bill."""
