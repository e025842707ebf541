"""What each command of platewright does; one module per command, loaded when the command is used."""
