"""Errors that speak to the person at the bench.

Every error names the thing, what was found, what was expected and what to do next.
The command line prints the message alone; the parts stay readable as attributes.
"""

from __future__ import annotations


class BlotterError(Exception):
    """Base of all errors a person may meet.

    Args:
        thing: what it is about: a file, a line, a key, a probe.
        found: the value or state that was met.
        expected: what would have been right.
        do: what to do next.
    """

    def __init__(self, thing: str, found: str, expected: str, do: str) -> None:
        self.thing = thing
        self.found = found
        self.expected = expected
        self.do = do
        super().__init__(str(self))

    def __str__(self) -> str:
        return f"{self.thing}: {self.found}; expected {self.expected}. {self.do}"

    def as_json(self) -> dict[str, str]:
        """Give the four parts under their names, for answers over the link."""
        return {"thing": self.thing, "found": self.found, "expected": self.expected, "do": self.do}


class BadInput(BlotterError):
    """A file, a key or an argument that cannot be used as it stands."""


class ManyProblems(BlotterError):
    """Several problems of one input, all of them listed at once.

    Args:
        thing: the input, for instance a file's path.
        problems: one complete sentence each, in the order of the input.
    """

    def __init__(self, thing: str, problems: list[str]) -> None:
        self.problems = problems
        super().__init__(thing, f"{len(problems)} problems", "none", "Mend these:")

    def __str__(self) -> str:
        return "\n".join([f"{self.thing}: {self.found}.", *(f"  {p}" for p in self.problems)])


class StoreError(BlotterError):
    """The store cannot be opened, read or written."""


class LinkError(BlotterError):
    """The station cannot be reached, or did not understand."""


class BusError(BlotterError):
    """A bus or a probe on it cannot be opened."""
