"""The hub: a PostgreSQL database in which many laptops meet; see ``docs/hub.md``."""
