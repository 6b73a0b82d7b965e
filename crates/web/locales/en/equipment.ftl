# The card of the kit.
equipment-title = The kit, and clean hands
equipment-hands = Hands
equipment-people = Who leaves a sick litter to others
equipment-bottle = Teat and bottle
equipment-tube = Tube
equipment-nobody = Nobody here is written down as taught by a vet. So no tube: ask your vet to show you.
equipment-taught = Taught by a vet: { $carers }. Nobody else.
equipment-sizes = Size by the last weight
equipment-size = Tube
equipment-fr = { $size } Fr
equipment-depth = The depth mark of a tube
equipment-cleaning = Cleaning
