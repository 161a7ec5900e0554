"""What the plant does: heat, stages, roots, the wall they meet, what the spade found."""
