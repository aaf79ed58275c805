"""What is tested before a machine is handed over, as the paper and the sheet both ask for it."""

ROAD_TEST = (
    *("lights", "indicators", "horn", "brake lamp, front brake", "brake lamp, rear brake"),
    "kill switch",
)
OF_ALL_WIRES = ("every wire goes through", "no wire is short to earth", "insulation is whole")
CHARGING = ("charging voltage at idle", "charging voltage at road revs")
FIRST_POWER = "first power through a small fuse or a lamp in series"
