"""Labels for packs, cars and part drawers, on sheets of labels as they are sold."""
