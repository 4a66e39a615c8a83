"""Stands for the board's own module; the bench brings its parts."""


class Pin:
    pass


class I2C:
    pass


class WDT:
    pass
