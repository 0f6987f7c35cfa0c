"""The service that listens to rigs: stores what they tell, notices silence, shows and tells."""
