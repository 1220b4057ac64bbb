"""Load on a joint to stress at the glue line, with its uncertainty."""

from jointlab.stress.joint_stress import JointStress
from jointlab.stress.joint_stress_of import joint_stress_of
from jointlab.stress.section import Section, section_of

__all__ = ["JointStress", "Section", "joint_stress_of", "section_of"]
