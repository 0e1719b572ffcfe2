"""From what somebody typed beside the car to an estimate with its doubt, and doubt carried through a sum."""
