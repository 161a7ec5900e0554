"""The ground of a field from public soil services, value by value with its origin."""
