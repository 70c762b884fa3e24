"""The words of papers beside certificates: the notice of withdrawal, paper copies, the sheet for customers."""

# ruff: noqa: RUF001  true signs and dashes are what is printed

from __future__ import annotations

from typing import Final

PAPERS_EN: Final[dict[str, str]] = {
    "notice/title": "Notice of withdrawal",
    "notice/conclusion": "Certificate {number} is withdrawn.",
    "notice/released": "Released",
    "notice/withdrawn": "Withdrawn",
    "notice/why": "Why:",
    "notice/taken_back": "Results taken back",
    "notice/stated_as": "Stated as",
    "notice/to_do": "What to do",
    "notice/do_not_use": "Do not use the results named above any more, and do not pass the certificate on.",
    "notice/tell": "Tell everybody to whom you gave it, or a copy of it, or its results.",
    "notice/mark": "Mark your copies as withdrawn, or remove them, as your own rules of keeping records demand.",
    "notice/look": (
        "Look, by your own rules, at what was decided by these results. This notice says nothing about the goods."
    ),
    "notice/answer": "Tell the laboratory that this notice has reached you.",
    "notice/more": (
        "This notice carries no results. If others follow, they come in a certificate with a number of its own."
    ),
    "notice/signed": "I withdraw this certificate.",
    "notice/sealed": "Sealed file that is withdrawn (SHA-256): {digest}",
    "notice/made": "Made with {program}",
    "notice/verify": (
        "Run “benchseal verify FILE.pdf” with the laboratory’s trust file. It works without a network: it checks the "
        "seal, the signature of the withdrawal, that the laboratory’s ledger holds it, and this page. A printed copy "
        "cannot be checked this way; ask for the file."
    ),
    "notice/end": "End of notice {number}",
    "copy/title": "Paper copy {copy} of {number}",
    "copy/line": "Paper copy {copy} of {number}, for {to}. Printed {at} by {by}.",
    "copy/not_sealed": "Not sealed: only the file of this certificate can be verified.",
    "copy_state/withdrawn": "WITHDRAWN",
    "copy_state/superseded": "SUPERSEDED",
    "copy/replaced": "{standing}, replaced by {by}",
    "sheet/title": "How to check a certificate",
    "sheet/title_of": "How to check a certificate of {laboratory}",
    "sheet/trust_heading": "1. Get the trust file by another way than the certificate",
    "sheet/trust": (
        "The trust file, trust.json, holds the keys of the laboratory. It came with the contract, by letter or from "
        "a page you know; one that comes in the same message as a certificate proves nothing. Telephone the "
        "laboratory once, under a number you have from elsewhere, and compare the fingerprint of its sealing "
        "certificate (SHA-256):"
    ),
    "sheet/earlier_one": "1 earlier one stands in the trust file.",
    "sheet/earlier_many": "{count} earlier ones stand in the trust file.",
    "sheet/no_print": "none is in force: ask the laboratory",
    "sheet/compared": "compared on",
    "sheet/with": "with whom",
    "sheet/by": "by",
    "sheet/file_heading": "2. Check the file",
    "sheet/file": (
        "The certificate is the PDF file, not its print. With benchseal on a machine of your own, without any "
        "connection:"
    ),
    "sheet/browser": "Or in a browser on the same machine, where the file is dropped on a page:",
    "sheet/word_heading": "3. Read the first word",
    "sheet_word/GENUINE": (
        "Sealed by a key you trust, unchanged since, and every result comes out again from its readings. It says what "
        "the laboratory released."
    ),
    "sheet_word/ALTERED": (
        "It contradicts itself or its seal; do not use it, ask the laboratory for the file it issued."
    ),
    "sheet_word/UNKNOWN": (
        "Nothing was found to be false, but not everything could be checked. The lines marked open say what is "
        "missing: a trust file, a key, or another version of benchseal."
    ),
    "sheet/counts_heading": "4. Ask whether it still counts",
    "sheet/counts": (
        "A certificate can be replaced or withdrawn after it was sent. Ask the laboratory for its present status file:"
    ),
    "sheet/answer": (
        "The answer then says in force, superseded or withdrawn, as of the moment the status file was made."
    ),
    "sheet/limits_heading": "What this cannot tell",
    "sheet/limits": (
        "Whether the readings are true, and whether the sample was yours. It shows that what you hold is what the "
        "laboratory released, that its results follow from the readings in it, and who signed. The check mark of a "
        "PDF reader shows less: that the file was not changed, not that its results come out again."
    ),
}
