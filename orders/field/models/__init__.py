from orders.field.models.days import (
    Briefing,
    CheckIn,
    CheckInPerson,
    CheckInStep,
    DayLine,
    DayShare,
    DaySheet,
    Detection,
    FieldPolicy,
    OverdueAlert,
)
from orders.field.models.devices import Command, Device, DeviceUser, EnrollmentCode, Flag

__all__ = [
    "Briefing",
    "CheckIn",
    "CheckInPerson",
    "CheckInStep",
    "Command",
    "DayLine",
    "DayShare",
    "DaySheet",
    "Detection",
    "Device",
    "DeviceUser",
    "EnrollmentCode",
    "FieldPolicy",
    "Flag",
    "OverdueAlert",
]
