"""Cautions that more than one place must say in the same words. Common practice, no source."""

HEAT = (
    "No flame or glowing element; vent the styrene first; heater outside the tent, with a "
    "thermostat and a cut-out, and not left alone."
)

HOT_CUP = (
    "Put the leftover cup outside on bare ground only while it can still be held; "
    "otherwise keep clear."
)
