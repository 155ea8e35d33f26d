"""What to carry to the next outing, what to buy now, and the plan of a day out."""
