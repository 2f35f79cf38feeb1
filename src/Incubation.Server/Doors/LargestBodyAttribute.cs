using Microsoft.AspNetCore.Http.Metadata;

namespace Incubation.Server.Doors;

/// <summary>How much may be sent to an address, in bytes; what says nothing takes <see cref="Usual"/>.</summary>
/// <param name="bytes">At most.</param>
[AttributeUsage(AttributeTargets.Class | AttributeTargets.Method)]
public sealed class LargestBodyAttribute(int bytes) : Attribute, IRequestSizeLimitMetadata
{
    /// <summary>What an address takes that says nothing.</summary>
    public const int Usual = 64 * 1024;

    /// <summary>A form of the door, before anybody is known, or one command.</summary>
    public const int Small = 16 * 1024;

    /// <summary>Many requests at once.</summary>
    public const int Large = 1024 * 1024;

    /// <inheritdoc/>
    public long? MaxRequestBodySize => bytes;
}
