"""Disks on which a book cannot be kept."""

from __future__ import annotations

import sys
from pathlib import Path, PurePosixPath

NETWORK_KINDS = frozenset(
    {"nfs", "nfs4", "cifs", "smb3", "smbfs", "afpfs", "ncpfs", "afs", "ceph", "glusterfs", "fuse.sshfs", "fuse.rclone"}
)
"""Kinds of file system that lie behind a network; a write-ahead log cannot be shared over them."""

_MOUNTS = Path("/proc/self/mounts")


def network_kind(folder: Path) -> str | None:
    """Kind of network disk the folder lies on; None for a local disk, or where that cannot be told."""
    share = share_kind(str(folder.absolute()))
    if share is not None:
        return share
    if sys.platform != "linux" or not _MOUNTS.exists():
        return None
    return kind_in(_MOUNTS.read_text(encoding="utf-8", errors="replace"), str(folder.resolve()))


def share_kind(folder: str) -> str | None:
    r"""Kind of a folder named by its server, as in ``\\server\folder``; None for any other."""
    return "a shared folder" if folder.startswith("\\\\") else None


def kind_in(mounts: str, folder: str) -> str | None:
    """Kind of network disk a folder lies on, by the system's table of mounts: device, place, kind, ... a line."""
    found, depth = None, -1
    for line in mounts.splitlines():
        fields = line.split(" ")
        if len(fields) < 3:
            continue
        place = PurePosixPath(fields[1].replace("\\040", " ").replace("\\011", "\t").replace("\\134", "\\"))
        # of two mounts on one place the later hides the earlier
        if PurePosixPath(folder).is_relative_to(place) and len(place.parts) >= depth:
            found, depth = fields[2], len(place.parts)
    return found if found in NETWORK_KINDS else None
