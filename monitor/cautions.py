"""Cautions that more than one place must say in the same words.

Common practice, no source, where none is named.
"""

HEAT = (
    "No flame or glowing element; vent the styrene first; heater outside the tent, with a "
    "thermostat and a cut-out, and not left alone."
)

HOT_CUP = (
    "Put the leftover cup outside on bare ground only while it can still be held; "
    "otherwise keep clear."
)
"""That a pot can smoke, and that a wrong dose can set it alight: FAO Fisheries Technical Paper
321, chapter 3. What to do with it: common practice."""

PEROXIDE = (
    "Goggles: catalyst is a peroxide, and in the eye it can blind. If it splashes, rinse at once "
    "with running water for 15 minutes and more, and get a doctor."
)
"""Source: International Chemical Safety Card 1028 (severe deep burns; rinse first, then a doctor).
The 15 minutes are common practice."""

NO_PROMOTER = "Never let catalyst and promoter meet undiluted: they can explode."
"""Source: California Code of Regulations, Title 8, section 5461(g)."""

PEROXIDE_DUST = "Catalyst on dust, rags or overspray can catch fire by itself: keep it off them."
"""Source: California Code of Regulations, Title 8, section 5461(c)."""

HARDENER = "Goggles and gloves: hardener burns the eyes and can make you allergic for life."

MASK = "Moving air and gloves; which mask is your maker's sheet's to say."
"""Workplaces have legal and advised limits for styrene (NIOSH Pocket Guide); no figure of ours
stands for a mask."""
