"""What was seen at the bench: pull, joint, rig, break."""
