"""What can be asked for on the command line: one module for each subject.

A module makes its own `commands = typer.Typer()` and decorates plain functions with
`@commands.command()`; the name of a function is the name of its command. `service.cli`
lists the modules. A command reads `get_settings()`, opens a `Database`, calls the store
or use case that the API calls too, and raises a `ServiceError` where it cannot go on:
`service.cli.main` turns that into one line on standard error and the exit code 1.
"""
