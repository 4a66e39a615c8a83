"""How far the sensors can be trusted: looked at again and again, doubts kept and answered."""
