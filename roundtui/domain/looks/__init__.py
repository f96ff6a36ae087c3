"""Looks at leaf and fruit: what is looked for, plans in print, running verdicts, what an entry shows."""
