"""What somebody joined with, in a word or two, from what their browser says of itself."""

__all__ = ["phone_kind"]

# The first that fits. Browsers name several systems at once, so the order matters (MDN, "Browser detection
# using the user agent"): Android says Linux too, and only a phone says Mobile beside it.
KINDS = (
    (("iPhone",), "iPhone"),
    (("iPad",), "iPad"),
    (("Android", "Mobile"), "Android phone"),
    (("Android",), "Android tablet"),
    (("Mobile",), "phone"),
    (("Windows",), "laptop"),
    (("Macintosh",), "laptop"),
    (("CrOS",), "laptop"),
    (("Linux",), "laptop"),
)


def phone_kind(user_agent: str) -> str:
    """A short label; "" when it cannot be told, as for a program."""
    if not user_agent.startswith("Mozilla/"):
        return ""  # every browser begins so (RFC 9110, 10.1.5 leaves the rest to it)
    return next((kind for words, kind in KINDS if all(word in user_agent for word in words)), "")
