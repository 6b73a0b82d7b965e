board-title = Every pup of every home
board-text = The most urgent first. A home's pages open here to look at; its own people write in them.
board-open = Look at { $litter }
board-no-home = No home may be seen with this sign-in. Whoever arranges the board can name some: whelpward homes show.
board-no-pup = No litter is open in these homes.
board-silent = { $home } cannot be read now: { $why }
