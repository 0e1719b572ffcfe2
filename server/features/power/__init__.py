"""Power and torque over the engine speed: observed first, the corrected figure beside it."""
