"""Rules over a network's figures, one small function each, and the one definition of what fails."""
