"""Which disk a folder is on: SQLite's locks cannot be trusted on a network file system."""

from __future__ import annotations

from pathlib import Path

_NETWORK = ("nfs", "cifs", "smb", "afs", "ncpfs", "ceph", "glusterfs", "fuse.sshfs", "fuse.s3fs", "lustre")


def network_file_system(folder: Path) -> str:
    """Name of the network file system ``folder`` is on, or empty. On Windows a UNC path counts as one.

    Linux: the longest mount point in ``/proc/self/mounts`` that holds the folder. Where that file is missing nothing
    can be told, and nothing is refused.
    """
    where = folder.resolve()
    if where.drive.startswith("\\\\"):
        return "UNC path"
    try:
        mounts = Path("/proc/self/mounts").read_text(encoding="utf-8", errors="surrogateescape").splitlines()
    except OSError:
        return ""
    return file_system_kind(str(where), mounts)


def file_system_kind(where: str, mounts: list[str]) -> str:
    """Network kind of the mount that holds ``where``, or empty."""
    best, found = "", ""
    for line in mounts:
        fields = line.split(" ")
        point = fields[1].replace("\\040", " ")
        inside = point in {"/", where} or where.startswith(point + "/")
        if inside and len(point) >= len(best):
            best, found = point, fields[2]
    return found if found.startswith(_NETWORK) else ""
