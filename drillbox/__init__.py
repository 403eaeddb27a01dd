"""drillbox keeps an improviser's short lines alive in all twelve keys."""
