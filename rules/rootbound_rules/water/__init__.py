"""What the air asks for, what the soil holds, what moves between them."""
