"""What finding a route and finding a splice share: the tube asked for, likely ends, one answer taken."""
