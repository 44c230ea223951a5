"""Where each splitter, tap and amplifier sits, at the least cost, with a certificate."""
