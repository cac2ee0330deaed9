"""What the library click says itself, as far as users of this program meet it; it asks gettext for these."""

from __future__ import annotations

from typing import Final

WORDS: Final = (
    "Aborted!",
    "Choose from:\n\t{choices}",
    "Commands",
    "Error: {message}",
    "Invalid value for {param_hint}: {message}",
    "Invalid value: {message}",
    "Missing argument",
    "Missing command.",
    "Missing option",
    "No such command {name!r}.",
    "No such option {name!r}.",
    "Option {name!r} does not take a value.",
    "Options",
    "Positional arguments",
    "Show this message and exit.",
    "Usage:",
    "default: {default}",
    "env var: {var}",
    "required",
    "{value!r} is not a valid {number_type}.",
    "{value} is not in the range {range}.",
    "{name} {filename!r} does not exist.",
    "{name} {filename!r} is a directory.",
    "{name} {filename!r} is a file.",
    "{name} {filename!r} is not readable.",
    "file",
    "directory",
    "path",
)
"""Messages as of click 8.5; what another release words otherwise stays English."""
COUNTED: Final = (
    ("Did you mean {possibility}?", "(Did you mean one of: {possibilities}?)"),
    ("Got unexpected extra argument ({args})", "Got unexpected extra arguments ({args})"),
    ("Option {name!r} requires an argument.", "Option {name!r} requires {nargs} arguments."),
    ("{value!r} is not {choice}.", "{value!r} is not one of {choices}."),
)
