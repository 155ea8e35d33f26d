"""Joints, meshes, bearings, friction and tools of a car, from the sizes in its build."""
