"""What the circuit does: states, settling, reach, motion; every event in every order, as sets of states in plain integers."""

from wirecheck.behaviour.behaviour import Behaviour, run_positions
from wirecheck.behaviour.parts import EventRule
from wirecheck.behaviour.reach import Path
from wirecheck.behaviour.views import views_of

__all__ = ["Behaviour", "EventRule", "Path", "run_positions", "views_of"]
