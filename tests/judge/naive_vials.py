"""A second, naive way to say what a count must be: the number typed, less what was counted and is another's."""

from __future__ import annotations

from dataclasses import dataclass, field


@dataclass
class Jar:
    """A vial, as somebody keeps it on a shelf."""

    number: int
    counted: bool
    name: str = ""


@dataclass
class Shelf:
    """One trap on one day: the count as typed last, the jars then, and the jars now."""

    own: str
    typed: int
    jars: dict[int, Jar] = field(default_factory=dict)
    settled: dict[int, int] = field(default_factory=dict)
    """What each jar had already moved when the count was typed last."""

    def moved(self, jar: Jar) -> int:
        """Moths that a jar moves by its name: down where a stranger was counted, up where one's own was not."""
        if jar.name == "":
            return 0
        if jar.counted and jar.name != self.own:
            return -jar.number
        if not jar.counted and jar.name == self.own:
            return jar.number
        return 0

    @property
    def count(self) -> int:
        """What has to stand."""
        return self.typed + sum(self.moved(jar) - self.settled.get(at, 0) for at, jar in self.jars.items())

    def type(self, count: int) -> None:
        """Somebody looks at the whole thing and types what is true."""
        self.typed = count
        self.settled = {at: self.moved(jar) for at, jar in self.jars.items()}
