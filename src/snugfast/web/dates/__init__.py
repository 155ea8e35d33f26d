"""What has a date, as a page and as a calendar to subscribe to."""
