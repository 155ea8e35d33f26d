"""What running costs: by hour, by outing, by car and by month, from the journal."""
