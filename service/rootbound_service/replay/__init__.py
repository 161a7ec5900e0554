"""Past seasons played again, night by night, with only what was known each night."""
