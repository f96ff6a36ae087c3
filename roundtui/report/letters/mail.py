"""Mail ready to be looked at and sent by hand: a text, the same as a page, and the pictures in it."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import TYPE_CHECKING

from roundtui.domain.plain import plain
from roundtui.report.letters.drawing import svg

if TYPE_CHECKING:
    from email.headerregistry import Address

    from roundtui.report.letters.pictures import Picture

_ADDRESS = re.compile(r"[A-Za-z0-9.!#$%&'*+/=?^_`{|}~-]{1,64}@[A-Za-z0-9-]{1,63}(?:\.[A-Za-z0-9-]{1,63})*")
"""An address that can stand in a header without quoting."""
_NAME_WIDTH = 80
_SUBJECT_WIDTH = 160


@dataclass(frozen=True, slots=True)
class Mail:
    """A mail before it is put in the form of a file."""

    to_name: str
    """Whom it is to."""
    to_address: str
    """Their address as written in the set-up; whatever is no address is left out."""
    from_name: str
    """Who writes."""
    from_address: str
    """Their address."""
    subject: str
    """What it is about."""
    text: str
    """The whole as text."""
    html: str
    """The whole as a page."""
    images: Mapping[str, bytes] = field(default_factory=dict)
    """PNG pictures by the name under which the page asks for them."""


def is_address(text: str) -> bool:
    """Whether a text is a mail address and nothing else."""
    return len(text) <= 254 and _ADDRESS.fullmatch(text) is not None


def png_of(picture: Picture, zoom: int = 2) -> bytes:
    """A picture as PNG, since mail programs show no SVG.

    Args:
        picture: The picture.
        zoom: Pixels for each of the picture's.
    """
    from roundtui.report.charts_svg import png

    return png(svg(picture), zoom)


def eml(mail: Mail, now: datetime) -> bytes:
    """A mail as a file that a mail program opens as a draft.

    Args:
        mail: The mail.
        now: Instant of writing, with its time zone.

    Returns:
        The file, its lines ended as mail asks. Without an address there is no such header, and the sender fills it in.
    """
    # Loaded on first use: the package is large, and only letters need it.
    from email.message import EmailMessage, MIMEPart
    from email.policy import SMTP
    from email.utils import format_datetime

    message = EmailMessage(policy=SMTP)
    message["Subject"] = plain(mail.subject, _SUBJECT_WIDTH)
    for header, name, address in (
        ("From", mail.from_name, mail.from_address),
        ("To", mail.to_name, mail.to_address),
    ):
        if (known := _address(name, address)) is not None:
            message[header] = known
    message["Date"] = format_datetime(now)
    # A convention of several mail programs: opened, not shown as received.
    message["X-Unsent"] = "1"
    message.set_content(mail.text)
    message.add_alternative(mail.html, subtype="html")
    page = message.get_payload()[1]  # type: ignore[index]
    if isinstance(page, MIMEPart):
        for name, content in mail.images.items():
            page.add_related(
                content, "image", "png", cid=f"<{name}@letter>", disposition="inline", filename=f"{name}.png"
            )
    return message.as_bytes()


def _address(name: str, address: str) -> Address | None:
    from email.headerregistry import Address

    if not is_address(address):
        return None
    try:
        return Address(plain(name, _NAME_WIDTH), addr_spec=address)
    except Exception:  # the library's parser raises several kinds; the sender then writes the address by hand
        return None
