"""The starting set: the usual subsystems, ports and tasks, offered ticked."""
