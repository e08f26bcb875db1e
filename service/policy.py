"""What a browser may do with our pages (Content Security Policy, level 3)."""

CONTENT_SECURITY_POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; "
    "connect-src 'self'; base-uri 'none'; frame-ancestors 'none'; form-action 'self'"
)


def policy_within(origins: str) -> str:
    """Return the policy of a page that pages of these origins may hold in a frame."""
    return CONTENT_SECURITY_POLICY.replace("frame-ancestors 'none'", f"frame-ancestors {origins}")
