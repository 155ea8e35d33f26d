"""What every room of use-cases stands on: the workshop, its ledger, words read and told, sources."""
