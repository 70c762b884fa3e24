"""Commands of the site's own keys."""

from __future__ import annotations

from benchseal.cli.words import REASON, Command

KEY_COMMANDS: tuple[Command, ...] = (
    Command(
        ("key", "list"),
        "every key the site ever had, and when it was in force",
        "session",
        "keys:list_all",
        "benchseal key list",
    ),
    Command(
        ("key", "rotate"),
        "make a new key; the old one signs that it hands over, and is destroyed",
        "signatures",
        "keys:rotate",
        "benchseal key rotate tree --reason 'the administrator left'",
        (("key", {"metavar": "KEY", "help": "seal, or tree for the ledger's heads"}), REASON),
    ),
    Command(
        ("key", "import"),
        "take a seal key an authority has certified; the old one signs that it hands over, and is destroyed",
        "signatures",
        "keys:import_seal",
        "benchseal key import seal.p12 --reason 'certified by the authority we chose'",
        (
            ("file", {"metavar": "FILE", "help": "PKCS#12: key, certificate, and every certificate of the authority"}),
            REASON,
        ),
    ),
    Command(
        ("key", "token"),
        "seal with a key in a PKCS#11 token from here on; the old one signs that it hands over, and is destroyed",
        "signatures",
        "keys:use_token",
        "benchseal key token --module /usr/lib/token.so --token Lab --key seal --pin seal-pin --reason 'certified'",
        (
            ("--module", {"required": True, "metavar": "PATH", "help": "the token's library, its whole path"}),
            ("--token", {"required": True, "metavar": "LABEL", "help": "label of the token"}),
            ("--key", {"required": True, "metavar": "LABEL", "help": "label of the private key in it"}),
            ("--pin", {"required": True, "metavar": "NAME", "help": "name of the secret that is its PIN, not the PIN"}),
            (
                "--certificates",
                {
                    "default": "",
                    "metavar": "FILE",
                    "help": "PEM: of key and authority; without it those in the token",
                },
            ),
            REASON,
        ),
    ),
    Command(
        ("key", "revoke"),
        "say that others may have an old key, and from which day on",
        "signatures",
        "keys:revoke",
        "benchseal key revoke 1f2e3d4c5b6a7988 --since 2026-03-02 --reason 'the old disk is gone'",
        (
            ("key_id", {"metavar": "KEY_ID", "help": "as `key list` has it; not one in force"}),
            ("--since", {"required": True, "metavar": "DAY", "help": "from this day on others may have had it"}),
            REASON,
        ),
    ),
    Command(
        ("key", "trust"),
        "what to hand to customers and witnesses: every key, and how one came after the other",
        "session",
        "keys:trust",
        "benchseal key trust --out trust.json",
        (("--out", {"default": "", "metavar": "FILE", "help": "write it here instead of printing it"}),),
    ),
    Command(
        ("key", "follow"),
        "anywhere: whether a newer trust file follows from one trusted before",
        "nothing",
        "keys:follow",
        "benchseal key follow trust.json --before trust-2025.json",
        (
            ("trust", {"metavar": "FILE", "help": "the newer trust file"}),
            ("--before", {"required": True, "metavar": "FILE", "help": "the one trusted before"}),
        ),
    ),
)
