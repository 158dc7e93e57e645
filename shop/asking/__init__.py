"""The door for other programs: judgements asked and answered as lines of JSON. Needs no database and touches none."""
