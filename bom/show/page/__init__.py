"""Pages for a browser, through Jinja2: plain data in, HTML out, in the look of our papers.

What a user typed is text: it is escaped wherever it stands, never marked as safe, and never part
of a script or a style; what would turn the direction of a line stands there as a sign.  A page that
is kept as a file has style and scripts in itself, and a policy that lets nothing else in.
"""

from base64 import b64encode
from collections.abc import Mapping
from functools import cache
from hashlib import sha256
from pathlib import Path
from typing import TYPE_CHECKING, Any

from bom.trade.visible import visible

if TYPE_CHECKING:
    from jinja2 import Environment

_HERE = Path(__file__).parent / "templates"
STYLE = "look.css"


def asset(name: str) -> str:
    """The text of a style sheet or script of ours."""
    return (_HERE / name).read_text(encoding="utf-8")


def rendered(template: str, shown: Mapping[str, Any]) -> str:
    """The page of a template; `shown` holds text, numbers, lists and maps of them."""
    return _environment().get_template(template).render(shown)


def one_file(template: str, scripts: tuple[str, ...], shown: Mapping[str, Any]) -> str:
    """The same with style and scripts in it: it loads nothing, and nothing else may be loaded."""
    from markupsafe import Markup

    style, script = asset(STYLE), "\n".join(map(asset, scripts))
    policy = (
        f"default-src 'none'; style-src {_hashed(style)}; script-src {_hashed(script)}; "
        "base-uri 'none'; form-action 'none'"
    )
    marked = map(Markup, (style, script))  # files beside this one, no user's words
    own = {**dict(zip(("style", "script"), marked, strict=True)), "policy": policy}
    return rendered(template, {**shown, "inside": own})


def _hashed(text: str) -> str:
    """What a content policy knows a style or script by (W3C CSP Level 3, 2.3.1)."""
    return f"'sha256-{b64encode(sha256(text.encode()).digest()).decode()}'"


def _as_seen(value: Any) -> Any:
    """A text as it may be shown; markup of ours as it is."""
    return visible(value) if type(value) is str else value


@cache
def _environment() -> "Environment":
    from jinja2 import Environment, FileSystemLoader, StrictUndefined

    return Environment(
        loader=FileSystemLoader(_HERE),
        autoescape=True,
        undefined=StrictUndefined,
        finalize=_as_seen,
        trim_blocks=True,
        lstrip_blocks=True,
    )
