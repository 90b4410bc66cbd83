"""What finished jobs tell: how good the estimates were, what the next one can learn, and who is odd among them."""
