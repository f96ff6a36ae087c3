"""Tables of people's own into the programme: read, understood, shown, and only then written."""
