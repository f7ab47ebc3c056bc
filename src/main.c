/* Where the two faces of russet, the command line and the page's server, are joined. No rules of the trade
 * live here. */
#include "cli/command_line.h"
#include "server/server.h"

int main(int argc, char **argv) {
    return command_line_run(argc, argv, server_serve);
}
