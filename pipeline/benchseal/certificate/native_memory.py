"""The renderer gives back what it took of Pango for each line of text.

WeasyPrint 70.0 keeps the attribute list of every line it lays out, and a font-features attribute beside it, to the end
of the process (``weasyprint/text/line_break.py``, ``Layout.setup``, which says so in a comment): some 200 kB a
certificate, measured. Two changes give them back. Each list gets an attribute of its own, which it then owns (Pango,
``pango_attr_list_insert``: "takes ownership"), in place of one that all share; and the reference the library forgets
is dropped once the layout holds its own (Pango, ``pango_layout_set_attributes``: "references attrs").
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

import weasyprint
from weasyprint.text.ffi import ffi, pango
from weasyprint.text.line_break import Layout

if TYPE_CHECKING:
    from weasyprint.text.fonts import FontConfiguration

# Another version may count its references otherwise, and one dropped too many is a crash: there nothing is changed.
LOOKED_AT: Final = "70.0"
_setup: Final = Layout.setup


class _NoneShared(dict[bytes, Any]):
    """Stands where the library keeps one attribute for all lists: gives back the new one it is offered."""

    def setdefault(self, key: bytes, default: Any = None) -> Any:  # noqa: ANN401, ARG002  of the library
        return default


def give_back(fonts: FontConfiguration) -> None:
    """Let texts laid out with these fonts give their memory back."""
    if weasyprint.__version__ == LOOKED_AT:
        fonts.font_features = _NoneShared()
        Layout.setup = _setup_and_give_back


def _setup_and_give_back(layout: Any, style: Any) -> None:  # noqa: ANN401  of the library
    _setup(layout, style)
    if isinstance(style.font_config.font_features, _NoneShared):
        held = pango.pango_layout_get_attributes(layout.layout)
        if held != ffi.NULL:
            pango.pango_attr_list_unref(held)
