"""What a car is believed to have, told from its journal, and what that puts at stake."""
