"""What pipes must stay clear of, in the car."""
