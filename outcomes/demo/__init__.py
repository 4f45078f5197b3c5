"""An invented clinic: nobody in it exists, and every number in it is made up."""
