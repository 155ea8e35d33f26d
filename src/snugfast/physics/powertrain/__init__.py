"""The power train: pack, controller, motor, gears, tyres and road put together, plainly and compiled."""
