"""A rectangle on a sheet, in millimetres; y runs down."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Box:
    """A rectangle, mm from the left and from the top."""

    x: float
    y: float
    width: float
    height: float

    @property
    def right(self) -> float:
        """Its right edge."""
        return self.x + self.width

    @property
    def bottom(self) -> float:
        """Its lower edge."""
        return self.y + self.height

    def meets(self, other: "Box") -> bool:
        """Whether both share some room."""
        across = self.x < other.right and other.x < self.right
        return across and self.y < other.bottom and other.y < self.bottom

    @property
    def middle(self) -> tuple[float, float]:
        """Its centre."""
        return self.x + self.width / 2, self.y + self.height / 2
