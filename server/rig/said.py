"""A sentence for a person that remembers what it was made from."""

__all__ = ["Fact", "Said", "Words"]

Words = list[object]  # a sentence as it travels and is kept: its pattern, and its facts where it has any


class Said(str):
    """A sentence in English, and the pattern and facts it was made from, so that a page can say it otherwise.

    Said("{who} has {unit}.", who="Mo", unit=21) is the text "Mo has 21.". A fact may be a sentence itself.
    """

    template: str
    facts: dict[str, "Fact"]

    def __new__(cls, template: str, **facts: "Fact") -> "Said":
        """Raises KeyError: the pattern asks for a fact that was not given."""
        shown = {name: f"{fact:g}" if isinstance(fact, float) else fact for name, fact in facts.items()}
        made = super().__new__(cls, template.format(**shown))
        made.template, made.facts = template, facts
        return made

    @classmethod
    def of(cls, parts: Words) -> "Said":
        """The sentence that `parts` came from. Raises ValueError: these are no parts of one."""
        match parts:
            case [str(template)]:
                return cls(template)
            case [str(template), dict(facts)]:
                return cls(template, **{name: _fact(fact) for name, fact in facts.items()})
        raise ValueError(f"no sentence: {parts!r:.60}")

    def parts(self) -> Words:
        """What travels: the pattern, and the facts by name, those that are sentences as such a pair again."""
        facts = {name: f.parts() if isinstance(f, Said) else f for name, f in self.facts.items()}
        return [self.template, facts] if facts else [self.template]


Fact = str | int | float | Said


def _fact(fact: object) -> Fact:
    if isinstance(fact, list):
        return Said.of(fact)
    if isinstance(fact, str | int | float):
        return fact
    raise ValueError(f"no fact of a sentence: {fact!r:.60}")
