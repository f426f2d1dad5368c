"""What the office does with orders: answer what they wait for, issue them, pass them on, call them off."""
