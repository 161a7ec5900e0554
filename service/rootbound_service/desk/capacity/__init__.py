"""How large a service must be for its fields: a model of a night, and a simulation of it."""
