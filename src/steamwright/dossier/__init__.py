"""The printed dossier of a plan."""
