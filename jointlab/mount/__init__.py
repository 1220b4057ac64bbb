"""What the lathe asks of every link between blank and faceplate."""

from jointlab.mount.demand import MountDemand
from jointlab.mount.document import document_of, with_settings
from jointlab.mount.mount_demand import demand_at_force, mount_demand
from jointlab.mount.setup import MountSetup
from jointlab.mount.setup_of import setup_of

__all__ = ["MountDemand", "MountSetup", "demand_at_force", "document_of", "mount_demand", "setup_of", "with_settings"]
