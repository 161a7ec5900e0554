"""What the coming days may bring, from services that say so, and where it is kept."""
