"""Setting the idle of the output tubes: from what a meter shows to currents, watts and the next turn of the control."""
