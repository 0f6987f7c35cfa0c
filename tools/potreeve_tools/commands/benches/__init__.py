"""One file per `potreeve bench NAME`; each has a click command named `command`."""
