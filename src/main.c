/* Where the two faces of russet, the command line and the page's server, are joined. No rules of the trade
 * live here. */
#include "cli/command_line.h"
#include "server/helper.h"
#include "server/server.h"

int main(int argc, char **argv) {
    if (helper_is_this(argc, argv)) return helper_main();
    return command_line_run(argc, argv, server_serve);
}
