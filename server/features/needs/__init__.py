"""What designs and tasks call for, and what of it stops a task."""
