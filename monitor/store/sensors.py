"""Sensors of the book."""

from sqlalchemy import select, update

from monitor.errors import BadInput
from monitor.records import Sensor
from monitor.store.entries import Entries, added, all_of, first_of
from monitor.store.schema import sensors
from monitor.units import Unit


class SensorEntries(Entries):
    def add_sensor(
        self,
        name: str,
        port: str,
        unit: Unit | None = None,
        format: str | None = None,
        identity: str | None = None,
    ) -> Sensor:
        """A new sensor, read by this machine. Raises BadInput where its name is taken."""
        values = {
            "name": name,
            "port": port,
            "unit": unit,
            "format": format,
            "identity": identity,
            "owner": self._database.owner,
        }
        with self._database.writing() as connection:
            taken = first_of(connection, Sensor, select(sensors).where(sensors.c.name == name))
            if taken is not None:
                raise BadInput(
                    f"A sensor called {name} is there already, on {taken.port}.",
                    f"Choose another name, or correct sensor-{taken.id}.",
                )
            return added(connection, Sensor, sensors, values)

    def sensor(self, name: str) -> Sensor:
        """The sensor of that name. Raises BadInput, with the names there are."""
        known = {sensor.name: sensor for sensor in self.sensors()}
        if name in known:
            return known[name]
        if not known:
            raise BadInput(
                f"There is no sensor called {name}, nor any other yet.",
                "Add it with sensor add, or start run with its name and port.",
            )
        raise BadInput(
            f"There is no sensor called {name}.", f"Those there are: {', '.join(known)}."
        )

    def sensors(self) -> tuple[Sensor, ...]:
        query = select(sensors).order_by(sensors.c.name)
        with self._database.reading() as connection:
            return all_of(connection, Sensor, query)

    def own_sensors(self) -> tuple[Sensor, ...]:
        """Those that this machine reads: in a file all of them."""
        owner = self._database.owner
        return tuple(s for s in self.sensors() if owner is None or s.owner == owner)

    def owner_for(self, sensor: Sensor) -> str | None:
        """Who reads a sensor plugged in here. Raises BadInput where another machine does."""
        owner = self._database.owner
        if owner is None:
            return sensor.owner
        if sensor.owner not in (None, owner):
            raise BadInput(
                f"The sensor {sensor.name} is read by {sensor.owner}.",
                f"Choose another name, or hand it over: correct sensor-{sensor.id} owner {owner}.",
            )
        return owner

    def update_sensor(
        self,
        sensor_id: int,
        *,
        port: str | None = None,
        unit: Unit | None = None,
        format: str | None = None,
        identity: str | None = None,
    ) -> Sensor:
        """Write down what was learned of a sensor; None leaves a field as it is."""
        learned = {"port": port, "unit": unit, "format": format, "identity": identity}
        values = {field: value for field, value in learned.items() if value is not None}
        which = sensors.c.id == sensor_id
        with self._database.writing() as connection:
            if values:
                connection.execute(update(sensors).where(which).values(**values))
            found = first_of(connection, Sensor, select(sensors).where(which))
            if found is None:
                raise BadInput(
                    f"There is no sensor-{sensor_id}.", "See which there are with sensor list."
                )
            return found
