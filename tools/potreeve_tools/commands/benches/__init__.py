"""The larger subcommands of `potreeve bench`, one file each; `command` is click's."""
