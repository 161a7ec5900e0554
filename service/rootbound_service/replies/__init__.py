"""What people write back: understood, acted upon, answered once."""
