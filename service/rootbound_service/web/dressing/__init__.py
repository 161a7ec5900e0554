"""What a field's page shows and its stored night does not keep, computed when it is opened."""
