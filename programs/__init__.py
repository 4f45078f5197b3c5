"""What was prescribed and done, and how the knee answered to it."""
