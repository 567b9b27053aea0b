"""Two reeds at once: which pitches a take of several reeds holds, and how they beat."""

from reedbench.two.baseband import Baseband, gathered
from reedbench.two.resolve import Beat, Reed, Resolved, resolve
from reedbench.two.telling import resolved_dict, resolved_lines

__all__ = ["Baseband", "Beat", "Reed", "Resolved", "gathered", "resolve", "resolved_dict", "resolved_lines"]
